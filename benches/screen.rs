//! From a key to the picture: what a press costs the screen, beside what the terminal itself takes.
//!
//! `cargo bench --bench screen`: a model with a real standing, driven as the loop does, without a terminal.
//! Printed are cells that change for each kind of key (what has to be sent to a far-away terminal), and the
//! time of a press with its redraw as a multiple of one copy of the picture.
#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench reads the clock and prints"
)]

use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use halfsplit::circuit::{builtin, read};
use halfsplit::job::state::Job;
use halfsplit::job::study::Study;
use halfsplit::plan::{Budget, Progress};
use halfsplit::tester::Instrument;
use halfsplit::tui::message::{Message, Told};
use halfsplit::tui::model::Model;
use halfsplit::tui::theme::Theme;
use halfsplit::tui::update::{begin, update};
use halfsplit::tui::{ScreenOptions, view};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

const ROUNDS: u32 = 200;

fn model(circuit: &str, size: (u16, u16)) -> Option<Model> {
    let circuit = Arc::new(read::read_text(circuit, builtin::text(circuit)?).0?);
    let study = Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).ok()?;
    let job = Job::new(Arc::new(study));
    let standing = job.standing(&Budget { nodes: 20 }, &Progress::default());
    let title = (circuit.name.clone(), circuit.machine.clone());
    let mut model = Model::new(title, None, size);
    begin(&mut model);
    let told = Told::Stood(Box::new(standing), None);
    let generation = model.generation;
    update(&mut model, Message::Told { generation, told });
    Some(model)
}

fn picture(model: &Model) -> Buffer {
    let area = Rect::new(0, 0, model.size.0, model.size.1);
    let mut buffer = Buffer::empty(area);
    view::draw(model, &Theme::new(ScreenOptions::default()), area, &mut buffer);
    buffer
}

fn press(model: &mut Model, code: KeyCode) {
    let key = KeyEvent::new(code, KeyModifiers::NONE);
    black_box(update(model, Message::Key(key, 0)));
}

fn main() {
    println!("key to redraw; cells sent, and time as a multiple of copying the picture");
    for (name, size) in [("start-button", (80, 24)), ("start-interlock", (140, 45))] {
        let Some(start) = model(name, size) else { continue };
        let before = picture(&start);
        let copying = {
            let began = Instant::now();
            for _ in 0..ROUNDS {
                black_box(before.clone());
            }
            began.elapsed() / ROUNDS
        };
        for (what, code) in [
            ("mark an outcome", KeyCode::Down),
            ("front a pane", KeyCode::Tab),
            ("help", KeyCode::Char('?')),
            ("circuit alone", KeyCode::Char('v')),
            ("a wrong key", KeyCode::Char('Q')),
        ] {
            let mut model = start.clone();
            press(&mut model, code);
            let cells = before.diff(&picture(&model)).len();
            let began = Instant::now();
            for _ in 0..ROUNDS {
                let mut model = start.clone();
                press(&mut model, code);
                black_box(picture(&model));
            }
            let time = began.elapsed() / ROUNDS;
            let times = time.as_secs_f64() / copying.as_secs_f64().max(1e-12);
            println!(
                "{name:16} {:3}x{:<3} {what:16} {cells:5} of {} cells, {times:6.0} copies, {time:?}",
                size.0,
                size.1,
                usize::from(size.0) * usize::from(size.1),
            );
        }
    }
}
