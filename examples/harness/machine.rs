//! The loom of an invented vehicle: sections behind connectors, fuse boxes, shared grounds.
//!
//! Sizes, ratings and lengths are common practice without a source: they have to fit each other, no more.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::draft::{Draft, Lead};

/// Pins of a connector between two sections of the loom.
const MOST_PINS: usize = 12;
/// Fuses of a box.
const MOST_FUSES: usize = 16;
/// Ratings of blade fuses, in amperes, with the copper behind each in mm2.
const RATINGS: [(f64, f64); 7] =
    [(5.0, 0.5), (7.5, 0.75), (10.0, 1.0), (15.0, 1.5), (20.0, 2.5), (25.0, 2.5), (30.0, 4.0)];
/// A fuse is rated for this many times its load.
const FUSE_MARGIN: f64 = 1.3;
/// Colours of feeds; black and brown are grounds.
const COLOURS: [&str; 9] = ["RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK"];
/// Where sections are, the first one with the fuse boxes and the switches.
const PLACES: [&str; 8] =
    ["dash", "engine bay", "left front", "right front", "rear", "roof", "left side", "right side"];

/// The vehicle as far as it is built.
#[derive(Debug, Clone)]
pub struct Machine {
    /// Its file.
    pub draft: Draft,
    /// Seeded, so that the same call gives the same file.
    pub dice: Pcg64Mcg,
    sections: Vec<Section>,
    boxes: Vec<FuseBox>,
    /// On the battery; live with the key on.
    stud: String,
    key: String,
    /// Functions so far, each with a control of its own.
    pub functions: usize,
}

/// A section of the loom; all but the first hang on another by connectors.
#[derive(Debug, Clone)]
struct Section {
    place: String,
    parent: usize,
    depth: usize,
    metres: f64,
    /// The connector to its parent that has pins left.
    connector: Option<usize>,
    /// Its grounds go back through the connector to those of its parent.
    remote_ground: bool,
    /// The splice its loads share for their ground, and how many more may.
    joint: Option<(String, usize)>,
    /// The ground point its splices share, and how many more may.
    point: Option<(String, usize)>,
}

#[derive(Debug, Clone)]
struct FuseBox {
    bus: String,
    place: String,
    keyed: bool,
    fuses: usize,
    /// Behind a fuse that feeds several functions: the splice, and amperes left.
    tap: Option<(Feed, f64)>,
}

/// Where a function gets its current.
#[derive(Debug, Clone)]
pub struct Feed {
    /// A terminal.
    pub from: String,
    /// For its wires.
    pub area_mm2: f64,
    /// The key has to be on.
    pub keyed: bool,
}

impl Machine {
    /// Battery, fuse boxes and sections for about `parts` parts.
    pub fn new(parts: usize, seed: u64) -> Machine {
        let mut machine = Machine {
            draft: Draft::default(),
            dice: Pcg64Mcg::seed_from_u64(seed),
            sections: Vec::new(),
            boxes: Vec::new(),
            stud: String::new(),
            key: String::new(),
            functions: 0,
        };
        machine.sections(3 + parts / 150);
        machine.boxes((1 + parts / 300).max(2));
        machine
    }

    fn sections(&mut self, count: usize) {
        for index in 0..count {
            let place = PLACES.get(index).map_or_else(
                || format!("section {}", index + 1 - PLACES.len()),
                |&place| place.to_owned(),
            );
            let parent = self.dice.random_range(0..index.max(1));
            let parent = match self.sections.get(parent) {
                Some(near) if near.depth < 2 => parent,
                _ => 0,
            };
            let depth = self.sections.get(parent).map_or(0, |near| near.depth + 1);
            let minutes = self.tenths(2, 60);
            self.draft.place(&place, minutes);
            let metres = self.tenths(10, 40);
            let remote_ground = index > 0 && self.dice.random_ratio(1, 4);
            let (connector, joint, point) = (None, None, None);
            self.sections.push(Section {
                place,
                parent,
                depth,
                metres,
                connector,
                remote_ground,
                joint,
                point,
            });
        }
    }

    /// The battery, the fuse boxes on it, and the key that switches every other of them by a relay.
    fn boxes(&mut self, count: usize) {
        self.draft.place("battery tray", 0.5);
        let battery = self.draft.part("G", "battery", "battery tray");
        let frame = self.draft.part("GND", "ground point", "battery tray");
        self.draft.wire(&format!("{battery}.-"), &frame, &thick("BK", 50.0, 0.5));
        let stud = self.draft.part("J", "splice", "battery tray");
        self.draft.wire(&format!("{battery}.+"), &stud, &thick("RD", 50.0, 0.4));
        self.draft.control("key", "off, on");
        let key = self.keyed_feed(&stud);
        for index in 0..count {
            let place = format!("box {}", index + 1);
            self.draft.place(&place, 0.5);
            let link = self.draft.part("FL", "fusible link, rating: 80 A", "battery tray");
            self.draft.wire(&stud, &format!("{link}.in"), &thick("RD", 16.0, 0.2));
            let metres = self.tenths(10, 40);
            let mut bus = self.draft.part("J", "splice", &place);
            self.draft.wire(&format!("{link}.out"), &bus, &thick("RD", 16.0, metres));
            let keyed = index % 2 == 1;
            if keyed {
                bus = self.main_relay(&bus, &key, &place);
            }
            self.boxes.push(FuseBox { bus, place, keyed, fuses: 0, tap: None });
        }
        (self.stud, self.key) = (stud, key);
    }

    /// A starter on its solenoid, switched by a button that the key feeds; gives the starter.
    pub fn starter(&mut self, control: &str) -> String {
        let button = format!("switch, control: {control}, closed: on");
        let button = self.draft.part("S", &button, "dash");
        let solenoid = self.draft.part("K", "solenoid", "engine bay");
        let starter = self.draft.part("M", "starter motor", "engine bay");
        let (stud, key) = (self.stud.clone(), self.key.clone());
        self.draft.wire(&stud, &format!("{solenoid}.battery"), &thick("RD", 35.0, 0.8));
        self.draft.wire(
            &format!("{solenoid}.motor"),
            &format!("{starter}.+"),
            &thick("RD", 35.0, 0.4),
        );
        self.draft.wire(&key, &format!("{button}.in"), &thick("BK/RD", 1.5, 0.3));
        let at = self.lead(&format!("{button}.out"), 1, "BK/YE", 1.5);
        self.draft.wire(&at, &format!("{solenoid}.coil in"), &thick("BK/YE", 1.5, 0.6));
        let ground = self.ground(1);
        self.draft.wire(&format!("{solenoid}.coil out"), &ground, &thick("BK", 1.5, 0.3));
        starter
    }

    /// What is live with the key on.
    fn keyed_feed(&mut self, stud: &str) -> String {
        let fuse = self.draft.part("F", "fuse, rating: 15 A", "battery tray");
        let switch = self.draft.part("S", "switch, control: key, closed: on", "dash");
        let joint = self.draft.part("J", "splice", "dash");
        self.draft.wire(stud, &format!("{fuse}.in"), &thick("RD", 2.5, 0.3));
        self.draft.wire(&format!("{fuse}.out"), &format!("{switch}.in"), &thick("RD", 2.5, 2.0));
        self.draft.wire(&format!("{switch}.out"), &joint, &thick("BK/RD", 2.5, 0.4));
        joint
    }

    /// The relay of a box that is live with the key on; gives its second bus.
    fn main_relay(&mut self, bus: &str, key: &str, place: &str) -> String {
        let relay = self.draft.part("K", "relay", place);
        let keyed = self.draft.part("J", "splice", place);
        self.draft.wire(bus, &format!("{relay}.30"), &thick("RD", 16.0, 0.1));
        self.draft.wire(&format!("{relay}.87"), &keyed, &thick("RD/BK", 16.0, 0.1));
        self.draft.wire(key, &format!("{relay}.86"), &thick("BK/RD", 0.75, 0.8));
        let ground = self.ground(0);
        self.draft.wire(&format!("{relay}.85"), &ground, &thick("BK", 0.75, 0.4));
        keyed
    }

    /// A number of tenths from `least` to `most`.
    pub fn tenths(&mut self, least: u32, most: u32) -> f64 {
        f64::from(self.dice.random_range(least..=most)) / 10.0
    }

    /// Where a section is.
    pub fn place(&self, section: usize) -> String {
        self.sections[section].place.clone()
    }

    /// Any section but the first, which has no lamps, motors and heaters.
    pub fn some_section(&mut self) -> usize {
        self.dice.random_range(1..self.sections.len())
    }

    /// A wire of the colour and size, as long as ways within a section are.
    pub fn short(&mut self, colour: &str, area_mm2: f64) -> Lead {
        let length_metres = self.tenths(2, 15);
        Lead { colour: colour.to_owned(), area_mm2, length_metres }
    }

    /// Any colour of a feed, with or without a tracer.
    pub fn colour(&mut self) -> String {
        let base = self.dice.random_range(0..COLOURS.len());
        let tracer = self.dice.random_range(0..2 * COLOURS.len());
        match COLOURS.get(tracer) {
            Some(tracer) if *tracer != COLOURS[base] => format!("{}/{tracer}", COLOURS[base]),
            _ => COLOURS[base].to_owned(),
        }
    }

    /// A feed for a load of so many amperes: behind a fuse of its own, or one shared with others.
    pub fn feed(&mut self, amps: f64) -> Feed {
        // Each box feeds something before any feeds more.
        let most = if self.boxes.iter().any(|one| one.fuses == 0) { 1 } else { MOST_FUSES };
        let open: Vec<usize> =
            (0..self.boxes.len()).filter(|&one| self.boxes[one].fuses < most).collect();
        // More functions than the boxes have room for: the last one takes them.
        let at = if open.is_empty() {
            self.boxes.len() - 1
        } else {
            open[self.dice.random_range(0..open.len())]
        };
        let shared = amps < 10.0 && self.dice.random_ratio(1, 3);
        if let Some((feed, left)) = &mut self.boxes[at].tap
            && *left >= amps
        {
            *left -= amps;
            return feed.clone();
        }
        if !shared {
            return self.fuse(at, amps);
        }
        let mut feed = self.fuse(at, 2.0 * amps);
        let place = self.boxes[at].place.clone();
        let joint = self.draft.part("J", "splice", &place);
        let lead = self.short("RD", feed.area_mm2);
        self.draft.wire(&feed.from, &joint, &lead);
        feed.from = joint;
        self.boxes[at].tap = Some((feed.clone(), amps));
        feed
    }

    /// A feed behind a fuse of its own that is dead with the key off.
    pub fn keyed_fuse(&mut self, amps: f64) -> Feed {
        let keyed = (0..self.boxes.len()).rev().find(|&one| self.boxes[one].keyed);
        self.fuse(keyed.unwrap_or(0), amps)
    }

    fn fuse(&mut self, at: usize, amps: f64) -> Feed {
        let fits = |(rating, _): &&(f64, f64)| *rating >= FUSE_MARGIN * amps;
        let last = &RATINGS[RATINGS.len() - 1];
        let (rating, area_mm2) = *RATINGS.iter().find(fits).unwrap_or(last);
        let FuseBox { bus, place, keyed, .. } = self.boxes[at].clone();
        self.boxes[at].fuses += 1;
        let fuse = self.draft.part("F", &format!("fuse, rating: {rating} A"), &place);
        self.draft.wire(&bus, &format!("{fuse}.in"), &thick("RD", area_mm2.max(1.5), 0.1));
        Feed { from: format!("{fuse}.out"), area_mm2, keyed }
    }

    /// Leads a wire from the first section through the connectors on its way; gives the terminal in
    /// `section` from which it goes on.
    pub fn lead(&mut self, from: &str, section: usize, colour: &str, area_mm2: f64) -> String {
        if section == 0 {
            return from.to_owned();
        }
        let parent = self.sections[section].parent;
        let before = self.lead(from, parent, colour, area_mm2);
        let [plug, socket] = self.pin(section);
        let length_metres = self.sections[section].metres;
        let lead = Lead { colour: colour.to_owned(), area_mm2, length_metres };
        self.draft.wire(&before, &plug, &lead);
        socket
    }

    /// A pin between a section and its parent.
    fn pin(&mut self, section: usize) -> [String; 2] {
        let open = self.sections[section].connector;
        let connector = open.filter(|&one| self.draft.pins(one) < MOST_PINS).unwrap_or_else(|| {
            let place = self.sections[section].place.clone();
            self.draft.connector(&place)
        });
        self.sections[section].connector = Some(connector);
        self.draft.pin(connector)
    }

    /// Where a load in `section` gets its ground: a splice shared by a few, on a ground point shared by a
    /// few splices, or back through a connector.
    pub fn ground(&mut self, section: usize) -> String {
        if let Some((joint, room)) = &mut self.sections[section].joint
            && *room > 0
        {
            *room -= 1;
            return joint.clone();
        }
        let place = self.place(section);
        let joint = self.draft.part("J", "splice", &place);
        let room = self.dice.random_range(2..=6);
        self.sections[section].joint = Some((joint.clone(), room));
        let lead = self.short("BK", 4.0);
        if self.sections[section].remote_ground {
            let [plug, socket] = self.pin(section);
            self.draft.wire(&joint, &socket, &lead);
            let back = self.ground(self.sections[section].parent);
            let length_metres = self.sections[section].metres;
            self.draft.wire(&plug, &back, &Lead { length_metres, ..lead });
        } else {
            let point = self.point(section);
            self.draft.wire(&joint, &point, &lead);
        }
        joint
    }

    fn point(&mut self, section: usize) -> String {
        if let Some((point, room)) = &mut self.sections[section].point
            && *room > 0
        {
            *room -= 1;
            return point.clone();
        }
        let place = self.place(section);
        let point = self.draft.part("GND", "ground point", &place);
        self.sections[section].point = Some((point.clone(), 3));
        point
    }
}

/// A wire of a fixed length.
fn thick(colour: &str, area_mm2: f64, length_metres: f64) -> Lead {
    Lead { colour: colour.to_owned(), area_mm2, length_metres }
}
