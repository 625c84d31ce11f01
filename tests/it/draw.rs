//! Wiring drawings: everything is in them once, nothing lies on anything else.

use std::collections::HashMap;
use std::process::Command;

use halfsplit::circuit::read::read_text;
use halfsplit::circuit::{Circuit, Kind, builtin};
use halfsplit::report::draw::layout::Layout;
use halfsplit::report::draw::shape::Shape;
use halfsplit::report::draw::things::Rail;
use halfsplit::report::draw::{Marks, svg, text};

/// The built-in circuits, and one with every kind of part.
fn circuits() -> Vec<Circuit> {
    let every = std::fs::read_to_string("tests/data/every-kind.yaml").unwrap();
    let built_in = builtin::names().into_iter().map(|name| (name, builtin::text(name).unwrap()));
    let hostile = std::fs::read_to_string("tests/data/reports/hostile.yaml").unwrap();
    let texts = built_in.chain([("every-kind", every.as_str()), ("hostile", hostile.as_str())]);
    texts.map(|(name, text)| read_text(name, text).0.unwrap()).collect()
}

/// A rectangle: left, top, right, bottom.
#[derive(Debug, Clone, Copy)]
struct Area([f64; 4]);

impl Area {
    fn meets(&self, other: &Area) -> bool {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        a < g && e < c && b < h && f < d
    }
}

fn number(node: &roxmltree::Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// How far down a group has been moved.
fn shift(node: &roxmltree::Node<'_, '_>) -> f64 {
    let moved = node.ancestors().filter_map(|one| one.attribute("transform"));
    let down = moved.filter_map(|one| one.strip_prefix("translate(0 ")?.strip_suffix(')'));
    down.map(|text| text.parse::<f64>().unwrap()).sum()
}

/// Where the letters of a text may be: 0.56 of the size of the letters wide.
fn text_area(node: &roxmltree::Node<'_, '_>) -> Area {
    let inherited = node.ancestors().find_map(|one| one.attribute("font-size"));
    let size: f64 = inherited.unwrap().parse().unwrap();
    let wide = node.text().unwrap_or_default().chars().count() as f64 * size * 0.56;
    let (x, y) = (number(node, "x"), number(node, "y") + shift(node));
    let left = match node.attribute("text-anchor") {
        Some("end") => x - wide,
        Some(_) => x - wide / 2.0,
        None => x,
    };
    Area([left, y - size * 0.72, left + wide, y + size * 0.15])
}

/// The horizontal pieces `M x y H x` of wires and bars.
fn level_lines(node: &roxmltree::Node<'_, '_>) -> Option<Area> {
    let d = node.attribute("d")?;
    let (from, to) = d.strip_prefix('M')?.split_once('H')?;
    let (x, y) = from.split_once(' ')?;
    let [x, y, to] = [x, y, to].map(|text| text.parse::<f64>().ok());
    let y = y? + shift(node);
    Some(Area([x?, y - 1.0, to?, y + 1.0]))
}

#[test]
fn drawings_hold_every_part_and_no_label_lies_on_another() {
    for circuit in circuits() {
        let drawing = svg::write(&circuit, &Marks::default());
        assert!(drawing.contains("@page{size:"), "a printer is told its paper");
        let document = roxmltree::Document::parse(&drawing).unwrap();
        let mut drawn: HashMap<&str, usize> = HashMap::new();
        for node in document.descendants() {
            if let Some(id) = node.attribute("data-part") {
                *drawn.entry(id).or_default() += 1;
            }
        }
        for part in &circuit.parts {
            let times = drawn.get(part.id.as_str()).copied().unwrap_or(0);
            assert!(times > 0, "{}: `{}` is missing", circuit.id, part.id);
            let single = matches!(part.kind, Kind::Wire { .. } | Kind::Pin { .. } | Kind::Splice);
            assert!(!single || times == 1, "{}: `{}` {times} times", circuit.id, part.id);
        }
        let texts: Vec<_> =
            document.descendants().filter(|node| node.has_tag_name("text")).collect();
        for (at, one) in texts.iter().enumerate() {
            for other in &texts[at + 1..] {
                let clear = !text_area(one).meets(&text_area(other));
                assert!(clear, "{}: {:?} lies on {:?}", circuit.id, one.text(), other.text());
            }
            for line in document.descendants().filter_map(|node| level_lines(&node)) {
                assert!(
                    !text_area(one).meets(&line),
                    "{}: {:?} is crossed",
                    circuit.id,
                    one.text()
                );
            }
        }
    }
}

/// No bar passes through a symbol or a label of another track, no two things share a row of a track, and
/// bars that lie in one row do not touch.
fn check(id: &str, layout: &Layout) {
    let mut taken: HashMap<(usize, usize), &str> = HashMap::new();
    for item in &layout.items {
        for row in item.row..item.row + item.rows {
            assert!(taken.insert((item.track, row), "item").is_none(), "{id}: {item:?}");
        }
    }
    for bar in &layout.bars {
        let (first, last) =
            if bar.rail == Rail::Node { bar.span() } else { (0, layout.tracks.len()) };
        for item in &layout.items {
            let labelled = (item.label_row..item.label_row + item.label.len()).contains(&bar.row);
            let crossed =
                item.shape != Shape::Wire && (item.row..item.row + item.rows).contains(&bar.row);
            let (line, words) =
                ((first..=last).contains(&item.track), (first..last).contains(&item.track));
            assert!(!(line && crossed), "{id}: a bar runs through {item:?}");
            assert!(!(words && labelled), "{id}: a bar runs through the label of {item:?}");
        }
    }
    let nodes: Vec<_> = layout.bars.iter().filter(|bar| bar.rail == Rail::Node).collect();
    for (at, one) in nodes.iter().enumerate() {
        for other in &nodes[at + 1..] {
            let ((a, b), (c, d)) = (one.span(), other.span());
            assert!(one.row != other.row || b < c || d < a, "{id}: {one:?} and {other:?}");
        }
    }
}

#[test]
fn wires_do_not_run_through_symbols() {
    for circuit in circuits() {
        check(&circuit.id, &Layout::of(&circuit, svg::MEASURE));
        check(&circuit.id, &Layout::of(&circuit, text::MEASURE));
    }
}

#[test]
fn circuits_that_can_be_drawn_without_crossings_are() {
    // Looked at: in these the dip filaments and the lamps of both sides share wires crosswise.
    let crossed = ["headlamp", "trailer-lamps"];
    for name in builtin::names() {
        let circuit = read_text(name, builtin::text(name).unwrap()).0.unwrap();
        let crossings = Layout::of(&circuit, svg::MEASURE).crossings;
        assert!(crossings == 0 || crossed.contains(&name), "{name}: {crossings}");
    }
}

/// The rails are the ends of the row of batteries, and the row stands upright between them.
#[test]
fn batteries_in_series_hang_between_the_rails() {
    let name = "start-lorry-24";
    let circuit = read_text(name, builtin::text(name).unwrap()).0.unwrap();
    let drawing = svg::write(&circuit, &Marks::default());
    assert!(drawing.contains("battery 2"));
    let layout = Layout::of(&circuit, svg::MEASURE);
    let batteries: Vec<_> =
        layout.items.iter().filter(|item| item.shape == Shape::Battery).collect();
    assert_eq!(batteries.len(), 2);
    assert!(batteries.iter().all(|item| !item.flipped), "{batteries:?}");
    assert_eq!(batteries[0].track, batteries[1].track);
}

#[test]
fn terminals_show_the_same_drawing() {
    for name in ["start-button", "start-interlock", "horn-relay", "trailer-lamps"] {
        let circuit = read_text(name, builtin::text(name).unwrap()).0.unwrap();
        let marks = Marks { parts: vec![circuit.battery_id()] };
        let drawing = text::write(&circuit, &marks, text::Look { width: 110, ascii: false });
        assert!(drawing.lines().all(|line| line.chars().count() <= 110), "{drawing}");
        insta::assert_snapshot!(format!("drawing@{name}"), drawing);
        let plain = text::write(&circuit, &marks, text::Look { width: 110, ascii: true });
        assert!(plain.is_ascii(), "{plain}");
        assert_eq!(plain.lines().count(), drawing.lines().count());
    }
}

fn run(words: &[&str]) -> (bool, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(words).output().unwrap();
    let text = if output.status.success() { output.stdout } else { output.stderr };
    (output.status.success(), String::from_utf8(text).unwrap())
}

#[test]
fn a_suspect_is_framed_and_an_unknown_one_named() {
    let (fine, drawing) =
        run(&["draw", "start-button", "--format", "svg", "--fault", "start-button"]);
    let document = roxmltree::Document::parse(&drawing).unwrap();
    let framed = document.descendants().filter(|node| node.text() == Some("\u{2717}"));
    let parts: Vec<_> = framed.filter_map(|node| node.parent()?.attribute("data-part")).collect();
    assert!(fine && parts == ["start-button"], "{parts:?}");
    let (fine, message) = run(&["draw", "start-button", "--fault", "start-buton"]);
    assert!(!fine && message.contains("did you mean `start-button`?"), "{message}");
}

#[test]
fn large_circuits_are_drawn_too() {
    let circuit = crate::harness::circuit(400, 3);
    check("harness", &Layout::of(&circuit, svg::MEASURE));
}
