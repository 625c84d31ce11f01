//! Circuit files: what sound ones become, what broken ones are told.

use std::fmt::Write;

use halfsplit::circuit::builtin;
use halfsplit::circuit::read::read_text;
use halfsplit::circuit::{Circuit, Kind};

/// Parts with their links, one a line.
fn listing(circuit: &Circuit) -> String {
    let mut text = String::new();
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        writeln!(text, "{} | {} | {}", part.id, part.name, circuit.place(part.place).name).unwrap();
        if let Kind::Wire { colour, area_mm2, length_metres, heavy } = &part.kind {
            writeln!(text, "  {colour} {area_mm2} mm2 {length_metres} m heavy={heavy}").unwrap();
        }
        for link in circuit.links_of(id) {
            let (first, second) = circuit.ends(*link);
            let (first, second) = (&circuit.terminal(first).id, &circuit.terminal(second).id);
            let link = circuit.link(*link);
            writeln!(text, "  {} -> {} {}: {:?}", first, second, link.role, link.element).unwrap();
        }
    }
    text
}

#[test]
fn the_start_button_circuit_becomes_a_graph() {
    let text = builtin::text("start-button").unwrap();
    let (circuit, problems) = read_text("start-button", text);
    assert_eq!(problems, []);
    insta::assert_snapshot!(listing(&circuit.unwrap()));
}
