//! What every built-in circuit must hold: it reads without a word, and sound, it works.

use std::sync::Arc;

use halfsplit::circuit::{Circuit, builtin, read};
use halfsplit::job::study::sights;
use halfsplit::suspect::Lineup;
use halfsplit::tester::expectations::Bench;

fn circuits() -> Vec<Arc<Circuit>> {
    builtin::names()
        .into_iter()
        .map(|name| {
            let (circuit, problems) = read::read_text(name, builtin::text(name).unwrap());
            assert!(problems.is_empty(), "{name}: {problems:?}");
            Arc::new(circuit.unwrap())
        })
        .collect()
}

#[test]
fn sound_circuits_work() {
    for circuit in circuits() {
        let lineup = Arc::new(Lineup::of(&circuit));
        let bench = Bench::new(&circuit, lineup).unwrap();
        for work in &circuit.works {
            for (test, should) in sights(&circuit, work) {
                let column = bench.columns(std::slice::from_ref(&test)).unwrap().remove(0);
                assert_eq!(
                    column.likeliest(0),
                    should,
                    "{}: `{}` does not come true: {} shows {:?}",
                    circuit.id,
                    work.name,
                    test.id,
                    column.shown[0]
                );
            }
        }
    }
}
