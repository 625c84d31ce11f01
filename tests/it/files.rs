#![allow(clippy::disallowed_methods, reason = "tests read their own data files")]
//! Circuit files: what sound ones become, what broken ones are told.

use std::fmt::Write;

use halfsplit::circuit::builtin;
use halfsplit::circuit::read::read_text;
use halfsplit::circuit::{Circuit, Kind};
use halfsplit::problem::{Picture, Severity, Source, one_line, picture};

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

#[test]
fn broken() {
    insta::glob!("../data/broken", "*.yaml", |path| {
        let text = std::fs::read_to_string(path).unwrap();
        let name = path.file_name().unwrap().to_str().unwrap();
        let (circuit, problems) = read_text(name, &text);
        let source = Source { name, text: &text };
        assert!(!problems.is_empty());
        let errors = problems.iter().any(|problem| problem.severity == Severity::Error);
        assert_eq!(circuit.is_none(), errors);
        let mut told = String::new();
        for problem in &problems {
            assert!(problem.help.is_some(), "no way out: {}", one_line(problem, source));
            writeln!(told, "{}\n", picture(problem, source, Picture::default())).unwrap();
        }
        insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false, snapshot_path => "snapshots/broken" }, { insta::assert_snapshot!(told) });
    });
}
