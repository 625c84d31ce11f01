//! One machine of its kind: every part as it happens to be, within its tolerance.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use crate::circuit::{Circuit, Element, LinkId};
use crate::electric::sensitivity::Parameter;
use crate::tester::tolerance::Tolerances;

/// Nothing is further from its usual value than so many deviations: makers sort out what is.
const MOST_DEVIATIONS: f64 = 2.5;
/// And nothing has less than this share of it.
const LEAST_SHARE: f64 = 0.2;

/// A number from a normal distribution.
pub fn normal(dice: &mut Pcg64Mcg) -> f64 {
    // The sum of twelve even ones: no logarithm, so the same on every machine.
    (0..12).map(|_| dice.random::<f64>()).sum::<f64>() - 6.0
}

/// The circuit with every part drawn within its tolerance.
pub fn drawn(circuit: &Circuit, dice: &mut Pcg64Mcg) -> Circuit {
    let mut one = circuit.clone();
    let mut deviations = || normal(dice).clamp(-MOST_DEVIATIONS, MOST_DEVIATIONS);
    // All copper of a machine is as warm as the rest of it.
    let warmth = deviations();
    for tolerance in Tolerances::new(circuit).list() {
        let times = 1.0 + tolerance.share * deviations() + tolerance.warmth * warmth;
        let link = LinkId::new(tolerance.branch.0 as usize);
        scale(&mut one.graph[link].element, tolerance.parameter, times.max(LEAST_SHARE));
    }
    one
}

fn scale(element: &mut Element, parameter: Parameter, times: f64) {
    match (element, parameter) {
        // An armature pulls by its amperes, whatever the copper of its coil has.
        (Element::Coil { ohms, pull_in_volts, drop_out_volts }, Parameter::Ohms) => {
            *ohms *= times;
            *pull_in_volts *= times;
            *drop_out_volts *= times;
        }
        (Element::Variable { ohms, .. }, Parameter::Ohms) => {
            for ohms in ohms {
                *ohms *= times;
            }
        }
        (Element::Generator { steps, .. }, Parameter::Volts) => {
            for step in steps {
                step.0 *= times;
            }
        }
        (Element::Generator { steps, .. }, Parameter::Ohms) => {
            for step in steps {
                step.1 *= times;
            }
        }
        (Element::Emf { volts, .. }, Parameter::Volts) => *volts *= times,
        (
            Element::Resistance { ohms }
            | Element::Contact { ohms, .. }
            | Element::Emf { ohms, .. }
            | Element::Fuse { ohms, .. }
            | Element::Cutout { ohms, .. }
            | Element::Sense { ohms, .. },
            Parameter::Ohms,
        ) => *ohms *= times,
        (Element::Lamp { watts, .. }, Parameter::Watts) => *watts *= times,
        (
            Element::Diode { forward_volts, .. } | Element::Zener { forward_volts, .. },
            Parameter::ForwardVolts,
        ) => *forward_volts *= times,
        (Element::Motor { stall_ohms, .. }, Parameter::StallOhms) => *stall_ohms *= times,
        (Element::Motor { running_amps, .. }, Parameter::RunningAmps) => *running_amps *= times,
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;

    use super::*;
    use crate::circuit::{builtin, read};

    #[test]
    fn a_seed_draws_the_same_machine_again_and_another_draws_another() {
        let text = builtin::text("start-button").unwrap();
        let circuit = read::read_text("start-button", text).0.unwrap();
        let of = |seed| drawn(&circuit, &mut Pcg64Mcg::seed_from_u64(seed));
        let ohms = |circuit: &Circuit| -> Vec<String> {
            circuit.graph.edge_weights().map(|link| format!("{:?}", link.element)).collect()
        };
        assert_eq!(ohms(&of(1)), ohms(&of(1)));
        let (filed, one, other) = (ohms(&circuit), ohms(&of(1)), ohms(&of(2)));
        assert!(filed.iter().zip(&one).filter(|(a, b)| a != b).count() > filed.len() / 2);
        assert_ne!(one, other);
    }
}
