//! The outcomes of each kind of look, by their ids and in words.

use super::scale::Scale;

/// One thing that can be seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Its id: `lit`, `0.2-to-0.5V`.
    pub id: String,
    /// For a person: `lights brightly`.
    pub words: String,
}

impl Scale {
    /// The outcomes between `edges`, in the order of rising level.
    pub fn outcomes(self, edges: &[f64]) -> Vec<Outcome> {
        match self {
            Scale::Glow | Scale::Led => {
                named(&[("dark", "stays dark"), ("dim", "glows dimly"), ("lit", "lights brightly")])
            }
            Scale::Turning => {
                named(&[("still", "does not turn"), ("slow", "turns slowly"), ("turns", "turns")])
            }
            Scale::Cranking => named(&[
                ("still", "does not turn"),
                ("slow", "turns slowly"),
                ("turns", "turns"),
                ("races", "whirrs fast, cranks nothing"),
            ]),
            Scale::Sound => {
                named(&[("silent", "is silent"), ("weak", "sounds weak"), ("sounds", "sounds")])
            }
            Scale::Works => {
                named(&[("idle", "does nothing"), ("weak", "works weakly"), ("works", "works")])
            }
            Scale::Needle => named(&[
                ("low", "stays low"),
                ("middle", "stands in the middle"),
                ("high", "stands high"),
            ]),
            Scale::Beat => named(&[
                ("silent", "does not tick"),
                ("uneven", "ticks out of time"),
                ("ticks", "ticks as it should"),
            ]),
            Scale::Click => named(&[
                ("silence", "nothing is heard"),
                ("click", "one click"),
                ("chatter", "chatters"),
            ]),
            Scale::Steadiness => {
                named(&[("steady", "stays as it is"), ("comes-and-goes", "comes and goes")])
            }
            Scale::Volts { .. } | Scale::Pointer { .. } => {
                ranges(edges, "V", |edge| format!("{edge:.2}"))
            }
            Scale::Millivolts => ranges_of(edges, "mV"),
            Scale::Amps | Scale::Drain => ranges_of(edges, "A"),
            Scale::Ohms => {
                let numbers: Vec<f64> = edges.iter().map(|edge| 10f64.powf(*edge)).collect();
                ranges(&numbers, "ohm", plain)
            }
        }
    }

    /// Levels between which a meter's range of this name lies, and its words, whichever edges were kept when it
    /// was named.
    pub fn range_named(self, id: &str) -> Option<((f64, f64), String)> {
        let edges = self.edges();
        let named = |kept: &[f64], at: usize| {
            let outcome = self.outcomes(kept).into_iter().nth(at)?;
            (outcome.id == id).then_some(outcome.words)
        };
        if let Some(words) = named(&[], 0) {
            return Some(((f64::NEG_INFINITY, f64::INFINITY), words));
        }
        let lows = edges.iter().enumerate();
        lows.clone()
            .find_map(|(_, &low)| Some(((f64::NEG_INFINITY, low), named(&[low], 0)?)))
            .or_else(|| {
                lows.clone().find_map(|(_, &low)| Some(((low, f64::INFINITY), named(&[low], 1)?)))
            })
            .or_else(|| {
                lows.clone().find_map(|(at, &low)| {
                    let highs = edges[at + 1..].iter();
                    highs.copied().find_map(|high| Some(((low, high), named(&[low, high], 1)?)))
                })
            })
    }
}

fn named(pairs: &[(&str, &str)]) -> Vec<Outcome> {
    pairs
        .iter()
        .map(|(id, words)| Outcome { id: (*id).to_owned(), words: (*words).to_owned() })
        .collect()
}

/// Ranges on an axis of decades.
fn ranges_of(edges: &[f64], unit: &str) -> Vec<Outcome> {
    let numbers: Vec<f64> = edges.iter().map(|edge| 10f64.powf(*edge)).collect();
    ranges(&numbers, unit, |number| {
        let digits = if number < 0.095 { 2 } else { usize::from(number < 0.95) };
        format!("{number:.digits$}")
    })
}

fn ranges(edges: &[f64], unit: &str, show: impl Fn(f64) -> String) -> Vec<Outcome> {
    let short = |edge: &f64| {
        let text = show(edge.abs());
        let text = if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.')
        } else {
            &text
        };
        // A minus would be lost among the dashes of an id.
        if *edge < 0.0 { format!("minus-{text}") } else { text.to_owned() }
    };
    let named = |id: String| {
        let number = id.strip_suffix(unit).unwrap_or(&id);
        let words = number.replace("minus-", "-").replace("-to-", " to ");
        let words = words.replace("under-", "under ").replace("over-", "over ");
        Outcome { words: format!("{words} {unit}"), id }
    };
    let (Some(first), Some(last)) = (edges.first(), edges.last()) else {
        return vec![Outcome { id: "any".to_owned(), words: "any number".to_owned() }];
    };
    let between = edges
        .windows(2)
        .map(|pair| named(format!("{}-to-{}{unit}", short(&pair[0]), short(&pair[1]))));
    std::iter::once(named(format!("under-{}{unit}", short(first))))
        .chain(between)
        .chain(std::iter::once(named(format!("over-{}{unit}", short(last)))))
        .collect()
}

fn plain(ohms: f64) -> String {
    if ohms >= 1e6 {
        format!("{:.0}M", ohms / 1e6)
    } else if ohms >= 1e3 {
        format!("{:.0}k", ohms / 1e3)
    } else if ohms >= 1.5 {
        format!("{ohms:.0}")
    } else {
        format!("{ohms:.1}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(edges: &[f64], expected: &[(&str, &str)]) {
        let scale = Scale::Volts { system: 12 };
        let found = scale.outcomes(edges);
        let found: Vec<(&str, &str)> =
            found.iter().map(|one| (one.id.as_str(), one.words.as_str())).collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn a_range_says_where_it_lies_whichever_edges_were_kept() {
        let meters = [
            Scale::Volts { system: 12 },
            Scale::Pointer { system: 24 },
            Scale::Millivolts,
            Scale::Amps,
            Scale::Drain,
            Scale::Ohms,
        ];
        for scale in meters {
            let edges = scale.edges();
            let kept = (0..edges.len()).flat_map(|low| {
                let edges = &edges;
                (low + 1..edges.len()).map(move |high| [edges[low], edges[high]])
            });
            for kept in kept {
                let ends = [f64::NEG_INFINITY, kept[0], kept[1], f64::INFINITY];
                for (at, outcome) in scale.outcomes(&kept).iter().enumerate() {
                    let found = scale.range_named(&outcome.id);
                    let told = Some(((ends[at], ends[at + 1]), outcome.words.clone()));
                    assert_eq!(found, told, "{scale:?} {}", outcome.id);
                }
            }
            assert_eq!(scale.range_named("lit"), None);
        }
    }

    #[test]
    fn ranges_are_named_by_their_edges() {
        check(
            &[-0.3, 0.05, 12.1],
            &[
                ("under-minus-0.3V", "under -0.3 V"),
                ("minus-0.3-to-0.05V", "-0.3 to 0.05 V"),
                ("0.05-to-12.1V", "0.05 to 12.1 V"),
                ("over-12.1V", "over 12.1 V"),
            ],
        );
        check(&[], &[("any", "any number")]);
    }

    #[test]
    fn decades_are_named_by_their_numbers() {
        let first = |scale: Scale| scale.outcomes(&scale.edges()).remove(0).id;
        assert_eq!(first(Scale::Drain), "under-0.05A");
        assert_eq!(first(Scale::Amps), "under-0.1A");
        assert_eq!(first(Scale::Ohms), "under-0.2ohm");
        assert_eq!(first(Scale::Millivolts), "under-0.3mV");
    }
}
