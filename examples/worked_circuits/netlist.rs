//! The format of published worked circuits, made into plain networks and answered.

use std::collections::HashMap;

use halfsplit::electric::{
    Branch, BranchId, Case, GROUND, Law, Network, NodeId, SolveError, Solver,
};
use serde::Deserialize;

/// A file of worked circuits.
#[derive(Debug, Deserialize)]
pub struct File {
    /// The circuits.
    pub circuits: Vec<Worked>,
}

/// One circuit with its published answers.
#[derive(Debug, Deserialize)]
pub struct Worked {
    /// Short name.
    pub id: String,
    /// What it is made of.
    pub elements: Vec<Element>,
    /// What was published about it.
    pub expect: Vec<Expected>,
}

/// One element between two nodes.
#[derive(Debug, Deserialize)]
pub struct Element {
    /// `source`, `resistor`, ...
    pub kind: String,
    /// Name within the circuit.
    pub name: String,
    /// Its two nodes.
    pub between: [String; 2],
    /// Of a source.
    pub volts: Option<f64>,
    /// Of a resistor or meter.
    pub ohms: Option<f64>,
    /// Of a current source.
    pub amps: Option<f64>,
}

/// One published figure.
#[derive(Debug, Deserialize)]
pub struct Expected {
    /// `volts`, `amps`, `watts`, `ohms_seen_by`.
    pub quantity: String,
    /// Of volts.
    pub between: Option<[String; 2]>,
    /// Of amperes.
    pub through: Option<String>,
    /// Of watts.
    pub of: Option<String>,
    /// Of ohms.
    pub source: Option<String>,
    /// The figure.
    pub value: Option<f64>,
    /// How far a right answer may be from it.
    pub tolerance: Option<f64>,
    /// An exact solution by other means.
    pub computed: Option<f64>,
    /// Whether the figure agrees with an exact solution.
    pub holds: Option<bool>,
}

/// Why a circuit has no answers.
#[derive(Debug, thiserror::Error)]
pub enum NetlistError {
    /// Not one of the kinds.
    #[error(
        "`{id}`: `{name}` is a `{kind}`; known are source, current_source, resistor, voltmeter, ammeter, open, short"
    )]
    Kind {
        /// The circuit.
        id: String,
        /// The element.
        name: String,
        /// What it says.
        kind: String,
    },
    /// A value its kind needs.
    #[error("`{id}`: `{name}` needs `{key}`")]
    Missing {
        /// The circuit.
        id: String,
        /// The element or quantity.
        name: String,
        /// The key that is not there.
        key: &'static str,
    },
    /// Two elements of one name.
    #[error("`{id}`: two elements are called `{name}`")]
    Twice {
        /// The circuit.
        id: String,
        /// The name.
        name: String,
    },
    /// An expectation of something that is not in the circuit.
    #[error("`{id}`: there is no {what} `{name}`")]
    Unknown {
        /// The circuit.
        id: String,
        /// `node`, `element`, `quantity`.
        what: &'static str,
        /// Its name.
        name: String,
    },
    /// The solver found no answer.
    #[error("`{id}` cannot be solved")]
    Solve {
        /// The circuit.
        id: String,
        /// Why.
        #[source]
        source: SolveError,
    },
}

/// A circuit as a network, with the names of its nodes and branches.
struct Named<'file> {
    worked: &'file Worked,
    network: Network,
    nodes: HashMap<&'file str, NodeId>,
    branches: HashMap<&'file str, usize>,
}

impl Worked {
    /// The answers, in the order of `expect`; `None` where an answer is endless (ohms seen by a source
    /// that delivers nothing).
    pub fn answers(&self) -> Result<Vec<Option<f64>>, NetlistError> {
        let named = Named::new(self)?;
        let fail = |source| NetlistError::Solve { id: self.id.clone(), source };
        let solver = Solver::new(&named.network).map_err(fail)?;
        let case = solver.case(&[]).map_err(fail)?;
        self.expect.iter().map(|expected| named.answer(&case, expected)).collect()
    }
}

impl<'file> Named<'file> {
    fn new(worked: &'file Worked) -> Result<Self, NetlistError> {
        let mut named = Named {
            worked,
            network: Network { nodes: 1, ..Network::default() },
            nodes: HashMap::from([("0", GROUND)]),
            branches: HashMap::new(),
        };
        for element in &worked.elements {
            let law = law(worked, element)?;
            let [from, to] = element.between.each_ref().map(|name| named.add_node(name));
            if named.branches.insert(&element.name, named.network.branches.len()).is_some() {
                return Err(NetlistError::Twice {
                    id: worked.id.clone(),
                    name: element.name.clone(),
                });
            }
            named.network.branches.push(Branch { from, to, law });
        }
        Ok(named)
    }

    fn add_node(&mut self, name: &'file str) -> NodeId {
        let next = NodeId(self.network.nodes);
        let node = *self.nodes.entry(name).or_insert(next);
        self.network.nodes += u32::from(node == next);
        node
    }

    fn answer(&self, case: &Case, expected: &Expected) -> Result<Option<f64>, NetlistError> {
        let missing = |key| NetlistError::Missing {
            id: self.worked.id.clone(),
            name: expected.quantity.clone(),
            key,
        };
        let value = match expected.quantity.as_str() {
            "volts" => {
                let [red, black] = expected.between.as_ref().ok_or(missing("between"))?;
                case.node_volts(self.node(red)?) - case.node_volts(self.node(black)?)
            }
            "amps" => {
                let name = expected.through.as_ref().ok_or(missing("through"))?;
                self.amps(case, self.branch(name)?)
            }
            "watts" => {
                let branch = self.branch(expected.of.as_ref().ok_or(missing("of"))?)?;
                (self.volts(case, branch) * self.amps(case, branch)).abs()
            }
            "ohms_seen_by" => {
                let branch = self.branch(expected.source.as_ref().ok_or(missing("source"))?)?;
                self.volts(case, branch) / self.amps(case, branch)
            }
            other => return Err(self.unknown("quantity", other)),
        };
        Ok(value.is_finite().then_some(value))
    }

    /// Out of the first node for what drives, from first to second for all else.
    fn amps(&self, case: &Case, branch: usize) -> f64 {
        let amps = case.branch_amps(BranchId(branch as u32));
        let drives =
            matches!(self.worked.elements[branch].kind.as_str(), "source" | "current_source");
        if drives { -amps } else { amps }
    }

    fn volts(&self, case: &Case, branch: usize) -> f64 {
        let Branch { from, to, .. } = self.network.branches[branch];
        case.node_volts(from) - case.node_volts(to)
    }

    fn node(&self, name: &str) -> Result<NodeId, NetlistError> {
        self.nodes.get(name).copied().ok_or_else(|| self.unknown("node", name))
    }

    fn branch(&self, name: &str) -> Result<usize, NetlistError> {
        self.branches.get(name).copied().ok_or_else(|| self.unknown("element", name))
    }

    fn unknown(&self, what: &'static str, name: &str) -> NetlistError {
        NetlistError::Unknown { id: self.worked.id.clone(), what, name: name.to_owned() }
    }
}

fn law(worked: &Worked, element: &Element) -> Result<Law, NetlistError> {
    let needed = |value: Option<f64>, key| {
        let (id, name) = (worked.id.clone(), element.name.clone());
        value.ok_or(NetlistError::Missing { id, name, key })
    };
    Ok(match element.kind.as_str() {
        "source" => Law::Source {
            volts: needed(element.volts, "volts")?,
            ohms: element.ohms.unwrap_or(0.0),
        },
        // What it delivers out of its first node runs from second to first inside it.
        "current_source" => Law::Current { amps: -needed(element.amps, "amps")? },
        "resistor" | "voltmeter" | "ammeter" => {
            Law::Resistor { ohms: needed(element.ohms, "ohms")? }
        }
        "open" => Law::Open,
        "short" => Law::Resistor { ohms: 0.0 },
        other => {
            let (id, name) = (worked.id.clone(), element.name.clone());
            return Err(NetlistError::Kind { id, name, kind: other.to_owned() });
        }
    })
}
