//! Plausible mistakes in files that share: each is told in the right file, at the right line.

use std::collections::BTreeMap;
use std::fs;

use halfsplit::circuit::read::read_files;
use halfsplit::problem::{Picture, Problem, Source, picture};

use crate::reuse::Memory;

/// One slip of the pen in the shop's folder.
struct Mistake {
    /// The file it is in.
    file: &'static str,
    /// What stands there.
    right: &'static str,
    /// What is written instead.
    wrong: &'static str,
    /// A word of the message, its help or its notes.
    names: &'static str,
    /// The circuit that is asked for.
    asked: &'static str,
}

const KINDS: &str = "shared/kinds.yaml";
const SUPPLY: &str = "shared/supply.yaml";
const HORN: &str = "horn.yaml";
const CART: &str = "horn-cart-3.yaml";

const fn of(
    file: &'static str,
    right: &'static str,
    wrong: &'static str,
    names: &'static str,
    asked: &'static str,
) -> Mistake {
    Mistake { file, right, wrong, names, asked }
}

const MISTAKES: &[Mistake] = &[
    of(KINDS, "like: relay", "like: realy", "relay", HORN),
    of(KINDS, "like: relay", "kind: relay", "like", HORN),
    of(KINDS, "coil: 85 ohm", "coil: 85,5 ohm", "point", HORN),
    of(KINDS, "pull_in:", "pull-in:", "pull_in", HORN),
    of(KINDS, "86: W1", "88: W1", "88", HORN),
    of(KINDS, "contact-welded: 4", "welded: 4", "contact-welded", HORN),
    of(KINDS, "contact-welded: 4", "contact-welded: often", "number", HORN),
    of(KINDS, "shop relay:", "relay:", "catalogue", HORN),
    of(KINDS, "format: 1", "format: 2", "newer", HORN),
    of(SUPPLY, "include: kinds.yaml", "include: kind.yaml", "kinds.yaml", HORN),
    of(SUPPLY, "include: kinds.yaml", "include: shared/kinds.yaml", "shared/kinds.yaml", HORN),
    of(SUPPLY, "include: kinds.yaml", "include: ../shared/kinds.yaml", "folder", HORN),
    of(SUPPLY, "include: kinds.yaml", "includes: kinds.yaml", "include", HORN),
    of(SUPPLY, "include: kinds.yaml", "include: supply.yaml", "part of itself", HORN),
    of(
        SUPPLY,
        "kind: cart fuse, rating: 10 A, at: dash }\n  lamp",
        "kind: car fuse, rating: 10 A, at: dash }\n  lamp",
        "fuse",
        HORN,
    ),
    of(SUPPLY, "at: dash, open_up", "at: dsah, open_up", "dash", HORN),
    of(SUPPLY, "to: main fuse.in", "to: main fuze.in", "main fuse", HORN),
    of(SUPPLY, "include: kinds.yaml", "include: kinds.yaml\nname: Supply", "does not belong", HORN),
    of(HORN, "shared/supply.yaml", "shared/suply.yaml", "shared/supply.yaml", HORN),
    of(HORN, "shared/supply.yaml", "/shop/shared/supply.yaml", "as seen from this file", HORN),
    of(HORN, "  horn: {", "  main fuse: {", "two of the files", HORN),
    of(HORN, "  nose: 2 min", "  Dash: 2 min", "dash: 3 min", HORN),
    of(HORN, "horn relay.W1", "horn relay.86", "W1", HORN),
    of(HORN, "kind: shop relay", "kind: shop realy", "shop relay", HORN),
    of(
        HORN,
        "include: shared/supply.yaml",
        "include: shared/supply.yaml\nbase: horn.yaml",
        "part of itself",
        HORN,
    ),
    of(CART, "base: horn.yaml", "base: horn", "horn-relay", CART),
    of(CART, "base: horn.yaml", "base: hron.yaml", "horn.yaml", CART),
    of(CART, "base: horn.yaml", "bass: horn.yaml", "base", CART),
    of(CART, "change:\n  places:", "changes:\n  places:", "change", CART),
    of(CART, "horn fuse: { rating", "horn fuze: { rating", "horn fuse", CART),
    of(CART, "rating: 15 A", "rating: 10 A", "changes nothing", CART),
    of(CART, "rating: 15 A", "ratting: 15 A", "rating", CART),
    of(CART, "C1: absent", "C2: absent", "C1", CART),
    of(CART, "C1: absent", "C1: apsent", "absent", CART),
    of(CART, "horn-relay--horn-button", "horn-relay-horn-button", "horn-relay--horn-button", CART),
    of(CART, "{ colour: GN }", "{ color: GN }", "colour", CART),
    of(CART, "{ colour: GN }", "{ colour: green }", "GN", CART),
    of(CART, "  second horn: {", "  horn: {", "change", CART),
    of(CART, "to: second horn.+", "to: second hron.+", "second horn", CART),
];

/// What a name that is gone takes with it may be told, too.
const MOST_FOLLOWING: usize = 5;

/// The folder, and the line on which the mistake is to be told.
fn made(mistake: &Mistake) -> (Memory, usize) {
    let read = |file: &str| fs::read_to_string(format!("examples/shop/{file}")).unwrap();
    let mut files: BTreeMap<String, String> =
        [KINDS, SUPPLY, HORN, CART].into_iter().map(|file| (file.to_owned(), read(file))).collect();
    let text = files.get_mut(mistake.file).unwrap();
    let at = text.find(mistake.right).unwrap_or_else(|| panic!("no `{}`", mistake.right));
    let same =
        mistake.right.bytes().zip(mistake.wrong.bytes()).take_while(|(one, other)| one == other);
    let line = text[..at + same.count().min(mistake.right.len() - 1)].matches('\n').count() + 1;
    *text = text.replacen(mistake.right, mistake.wrong, 1);
    (Memory(files), line)
}

#[test]
fn plausible_mistakes_are_told_in_their_file() {
    let (mut all, mut wrong) = (String::new(), Vec::new());
    for mistake in MISTAKES {
        let (folder, line) = made(mistake);
        let reading = read_files(mistake.asked, &folder.0[mistake.asked], &folder);
        let sources: Vec<Source> = reading.texts.iter().map(|text| text.source()).collect();
        all.push_str(&format!(
            "### {}: {:?} for {:?}\n",
            mistake.file, mistake.wrong, mistake.right
        ));
        for problem in &reading.problems {
            all.push_str(&format!("{}\n\n", picture(problem, &sources, Picture::default())));
        }
        let says = |problem: &Problem| {
            picture(problem, &sources, Picture::default()).contains(mistake.names)
        };
        // A word on the line below that which was begun wrongly is near enough.
        let here = |problem: &Problem| {
            sources[problem.span.file].name == mistake.file
                && (line..=line + 1).contains(&problem.span.line)
        };
        let right = reading.problems.iter().any(|one| here(one) && says(one));
        if !right || reading.problems.len() > MOST_FOLLOWING {
            wrong.push(format!(
                "{} {:?}: wanted line {line} and `{}`, {} found",
                mistake.file,
                mistake.wrong,
                mistake.names,
                reading.problems.len()
            ));
        }
    }
    insta::assert_snapshot!("shared_mistakes", all);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
