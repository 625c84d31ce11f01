//! Networks and changes by chance.

use proptest::prelude::*;

use crate::electric::changed::Change;
use crate::electric::network::{Branch, BranchId, GROUND, Law, Network, NodeId, Relay, RelayId};

/// A value between two powers of ten, all decades alike.
pub(super) fn decades(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (low..high).prop_map(|power| 10.0_f64.powf(power))
}

fn straight_law() -> impl Strategy<Value = Law> {
    prop_oneof![
        6 => decades(-3.0, 6.0).prop_map(|ohms| Law::Resistor { ohms }),
        2 => (1.0..24.0, decades(-3.0, 0.0)).prop_map(|(volts, ohms)| Law::Source { volts, ohms }),
        1 => Just(Law::Open),
        1 => Just(Law::Resistor { ohms: 0.0 }),
    ]
}

fn any_law(relays: u32) -> impl Strategy<Value = Law> {
    prop_oneof![
        6 => straight_law(),
        1 => (6.0..24.0, 1.0..60.0).prop_map(|(volts, watts)| Law::Lamp { volts, watts }),
        1 => (0.3..3.2, decades(-2.0, 0.5), any::<bool>()).prop_map(|(forward_volts, at_amps, zener)| {
            Law::Diode { forward_volts, at_amps, zener_volts: zener.then_some(9.0) }
        }),
        1 => (decades(-2.0, 0.0), decades(0.0, 2.0)).prop_map(|(stall_ohms, running_amps)| {
            Law::Motor { stall_ohms, running_amps, rated_volts: 12.0 }
        }),
        1 => (decades(-2.0, 0.0), decades(0.0, 1.5)).prop_map(|(ohms, times)| {
            Law::Battery { volts: 12.0, ohms, charge_ohms: ohms * times }
        }),
        1 => decades(0.0, 2.0).prop_map(|rated_amps| Law::Fuse { ohms: 0.005, rated_amps }),
        2 => (0..relays, any::<bool>()).prop_map(|(relay, rests_closed)| {
            Law::Contact { ohms: 0.01, relay: RelayId(relay), rests_closed }
        }),
    ]
}

fn branches(nodes: u32, law: BoxedStrategy<Law>) -> impl Strategy<Value = Vec<Branch>> {
    let branch = (0..nodes, 0..nodes, law).prop_map(|(from, to, law)| Branch {
        from: NodeId(from),
        to: NodeId(to),
        law,
    });
    prop::collection::vec(branch, 1..24)
}

pub(super) fn straight_network() -> impl Strategy<Value = Network> {
    (2_u32..12).prop_flat_map(|nodes| {
        branches(nodes, straight_law().boxed()).prop_map(move |branches| Network {
            nodes,
            branches,
            relays: vec![],
        })
    })
}

pub(in crate::electric) fn any_network() -> impl Strategy<Value = Network> {
    (2_u32..12, 1_u32..3).prop_flat_map(|(nodes, relays)| {
        let armature = (any::<prop::sample::Index>(), decades(-1.5, 0.5), 0.1..0.9);
        let armatures = prop::collection::vec(armature, relays as usize);
        (branches(nodes, any_law(relays).boxed()), armatures).prop_map(
            move |(branches, armatures)| {
                let relay =
                    |(winding, pull_in_amps, share): (prop::sample::Index, f64, f64)| Relay {
                        windings: vec![(BranchId(winding.index(branches.len()) as u32), 1.0)],
                        pull_in_amps,
                        drop_out_amps: share * pull_in_amps,
                        stuck: None,
                    };
                Network { nodes, relays: armatures.into_iter().map(relay).collect(), branches }
            },
        )
    })
}

/// Changes as raw numbers, fitted to a network by [`fit`].
pub(super) fn changes() -> impl Strategy<Value = Vec<(u8, usize, usize, f64)>> {
    prop::collection::vec((0_u8..6, 0..1000_usize, 0..1000_usize, decades(-3.0, 6.0)), 0..4)
}

pub(super) fn fit(network: &Network, raw: &[(u8, usize, usize, f64)]) -> Vec<Change> {
    let node = |number: usize| NodeId((number % network.nodes as usize) as u32);
    let one = |&(kind, first, second, ohms): &(u8, usize, usize, f64)| {
        let branch = BranchId((first % network.branches.len()) as u32);
        match kind {
            0 | 1 => Change::Law { branch, law: Law::Open },
            2 => Change::Law { branch, law: Law::Resistor { ohms } },
            3 => Change::Across { from: node(first), to: GROUND, law: Law::Resistor { ohms: 0.0 } },
            _ => {
                Change::Across { from: node(first), to: node(second), law: Law::Resistor { ohms } }
            }
        }
    };
    raw.iter().map(one).collect()
}
