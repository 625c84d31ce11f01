//! A branch as one line of the linear equations: `alpha * v + beta * i = gamma`.

pub(super) mod battery;
pub(super) mod curve;
pub(super) mod diode;
pub(super) mod lamp;
pub(super) mod motor;

use self::battery::Battery;
use self::curve::Point;
use self::diode::Diode;
use self::lamp::Lamp;
use self::motor::Motor;
use super::error::SolveError;
use super::network::Law;

/// Least resistance of anything that conducts.
///
/// Zero ohms are given this much, so that two of them side by side share their current and an ideal
/// source that is shorted shows itself by gigaamperes; a hundred amperes lose a tenth of a microvolt. (At
/// 1e-12 two shorts side by side shared their current by the last four digits of a volt.)
pub(super) const LEAST_OHMS: f64 = 1e-9;

/// A fuse that carries more than this times its rating for good is taken to blow: ISO 8820-3 has blade
/// fuses open within half an hour at 1.35 times their rating (as quoted in relay maker data,
/// `tests/data/physics/fuses.yaml`).
pub(super) const BLOW_FACTOR: f64 = 1.35;

/// One line: `alpha * v + beta * i = gamma`, scaled so that neither factor exceeds one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row {
    pub alpha: f64,
    pub beta: f64,
    pub gamma: f64,
}

impl Row {
    pub const OPEN: Row = Row { alpha: 0.0, beta: 1.0, gamma: 0.0 };

    /// `v = volts + ohms * i`.
    pub fn source(volts: f64, ohms: f64) -> Row {
        let ohms = ohms.max(LEAST_OHMS);
        if ohms <= 1.0 {
            return Row { alpha: 1.0, beta: -ohms, gamma: volts };
        }
        Row { alpha: 1.0 / ohms, beta: -1.0, gamma: volts / ohms }
    }

    /// The drive that brings volts and amperes from where they are without one onto the line; `unit` is what a
    /// unit of it does to both.
    pub fn drive(&self, rest: (f64, f64), unit: (f64, f64)) -> f64 {
        (self.gamma - self.alpha * rest.0 - self.beta * rest.1) / self.pivot(unit)
    }

    /// What a unit of drive does to the line.
    pub fn pivot(&self, unit: (f64, f64)) -> f64 {
        self.alpha * unit.0 + self.beta * unit.1
    }

    /// The tangent at a point of a curve.
    pub fn tangent(point: Point) -> Row {
        let Point { volts, amps, siemens } = point;
        if siemens >= 1.0 {
            return Row { alpha: 1.0, beta: -1.0 / siemens, gamma: volts - amps / siemens };
        }
        Row { alpha: siemens, beta: -1.0, gamma: siemens * volts - amps }
    }
}

/// What a branch is for the equations, once the state of contacts and fuses is known.
#[derive(Debug, Clone, Copy)]
pub(super) enum Form {
    Line(Row),
    /// A curve, and the ohms it has in series.
    Curve(Curve, f64),
}

/// What bends.
#[derive(Debug, Clone, Copy)]
pub(super) enum Curve {
    Battery(Battery),
    Lamp(Lamp),
    Diode(Diode),
    Motor(Motor),
}

impl Curve {
    /// The point of the curve on the line `volts + ohms * amps = along`; `near` is a guess of its volts.
    fn meet(&self, along: f64, ohms: f64, near: f64) -> Point {
        match self {
            Curve::Battery(battery) => battery.meet(along, ohms),
            Curve::Lamp(lamp) => lamp.meet(along, ohms, near),
            Curve::Diode(diode) => diode.meet(along, ohms),
            Curve::Motor(motor) => motor.meet(along, ohms),
        }
    }

    fn line_ohms(&self) -> f64 {
        match self {
            Curve::Battery(battery) => battery.line_ohms(),
            Curve::Lamp(lamp) => lamp.line_ohms(),
            Curve::Diode(diode) => diode.line_ohms(),
            Curve::Motor(motor) => motor.line_ohms(),
        }
    }
}

impl Form {
    pub const OPEN: Form = Form::Line(Row::OPEN);

    /// `closed` tells whether a contact is closed or a fuse whole; other laws do not ask.
    pub fn of(law: &Law, closed: bool) -> Form {
        match *law {
            Law::Contact { .. } | Law::Fuse { .. } if !closed => Form::Line(Row::OPEN),
            Law::Resistor { ohms } | Law::Contact { ohms, .. } | Law::Fuse { ohms, .. } => {
                Form::Line(Row::source(0.0, ohms))
            }
            Law::Open => Form::Line(Row::OPEN),
            Law::Source { volts, ohms } => Form::Line(Row::source(volts, ohms)),
            Law::Battery { volts, ohms, charge_ohms } => {
                Form::Curve(Curve::Battery(Battery { volts, ohms, charge_ohms }), 0.0)
            }
            Law::Current { amps } => Form::Line(Row { alpha: 0.0, beta: 1.0, gamma: amps }),
            Law::Lamp { volts, watts } => Form::Curve(Curve::Lamp(Lamp::new(volts, watts)), 0.0),
            Law::Diode { forward_volts, at_amps, zener_volts } => {
                Form::Curve(Curve::Diode(Diode::new(forward_volts, at_amps, zener_volts)), 0.0)
            }
            Law::Motor { stall_ohms, running_amps, rated_volts } => {
                Form::Curve(Curve::Motor(Motor::new(stall_ohms, running_amps, rated_volts)), 0.0)
            }
            Law::Behind { ohms, bent } => match Form::of(&bent.into(), closed) {
                Form::Curve(curve, before) => Form::Curve(curve, before + ohms),
                line @ Form::Line(_) => line,
            },
        }
    }

    /// The line, of what does not bend.
    pub fn line(&self) -> Option<Row> {
        match self {
            Form::Line(row) => Some(*row),
            Form::Curve(..) => None,
        }
    }

    /// The point of its curve on the line `volts + ohms * amps = along`; `near` is a guess of its volts.
    /// `None` for a straight line.
    ///
    /// What is in series with a curve lies on the line with the rest.
    pub fn on_line(&self, along: f64, ohms: f64, near: f64) -> Option<Point> {
        let &Form::Curve(ref curve, series_ohms) = self else { return None };
        let Point { volts, amps, siemens } = curve.meet(along, ohms + series_ohms, near);
        let siemens = siemens / (1.0 + series_ohms * siemens);
        Some(Point { volts: volts + series_ohms * amps, amps, siemens })
    }

    /// A resistance of its kind: slope of the lines along which a guess is brought onto the curve.
    pub fn line_ohms(&self) -> f64 {
        match self {
            Form::Line(_) => 0.0,
            Form::Curve(curve, series_ohms) => curve.line_ohms() + series_ohms,
        }
    }

    /// The point of its curve that belongs to a guess; `None` for a straight line.
    ///
    /// Along `v + ohms * i` every rising curve has one point, which moves no faster than the guess does:
    /// so no exponential ever sees the wild volts of a first guess. A diode that is left without current
    /// goes to zero at once; down its curve it would go by one e-fold a step.
    pub fn meet(&self, volts: f64, amps: f64) -> Option<Point> {
        let ohms = self.line_ohms();
        match self {
            Form::Curve(Curve::Diode(diode), series_ohms)
                if diode.is_starved(volts - series_ohms * amps, amps) =>
            {
                self.on_line(0.0, ohms, 0.0)
            }
            _ => self.on_line(volts + ohms * amps, ohms, volts),
        }
    }

    /// Whether it is a curve without a kink.
    pub fn is_smooth(&self) -> bool {
        matches!(self, Form::Curve(Curve::Lamp(_) | Curve::Diode(_), _))
    }

    /// The same with its source turned down to a share.
    pub fn turned(&self, share: f64) -> Form {
        match *self {
            Form::Line(row) => Form::Line(Row { gamma: share * row.gamma, ..row }),
            Form::Curve(Curve::Battery(battery), series_ohms) => {
                Form::Curve(Curve::Battery(battery.turned(share)), series_ohms)
            }
            curve @ Form::Curve(..) => curve,
        }
    }
}

/// Refuses what no part can have.
pub(super) fn check(branch: u32, law: &Law) -> Result<(), SolveError> {
    let bad = |quantity, value| SolveError::BadBranch { branch, quantity, value };
    let least = |quantity, value: f64, least: f64| {
        if value.is_finite() && value >= least { Ok(()) } else { Err(bad(quantity, value)) }
    };
    match *law {
        Law::Open => Ok(()),
        Law::Resistor { ohms } | Law::Contact { ohms, .. } => least("ohms", ohms, 0.0),
        Law::Source { volts, ohms } => {
            least("volts", volts, f64::MIN).and(least("ohms", ohms, 0.0))
        }
        Law::Battery { volts, ohms, charge_ohms } => least("volts", volts, f64::MIN)
            .and(least("ohms", ohms, SMALLEST))
            .and(least("ohms on charge", charge_ohms, SMALLEST)),
        Law::Current { amps } => least("amperes", amps, f64::MIN),
        Law::Behind { ohms, bent } => {
            least("ohms", ohms, 0.0).and_then(|()| check(branch, &bent.into()))
        }
        Law::Fuse { ohms, rated_amps } => {
            least("ohms", ohms, 0.0).and(least("rated amperes", rated_amps, SMALLEST))
        }
        Law::Lamp { volts, watts } => {
            least("rated volts", volts, SMALLEST).and(least("watts", watts, SMALLEST))
        }
        Law::Diode { forward_volts, at_amps, zener_volts } => {
            least("forward volts", forward_volts, 0.01)
                .and(least("forward amperes", at_amps, SMALLEST))
                .and(zener_volts.map_or(Ok(()), |volts| least("Zener volts", volts, 0.1)))
        }
        Law::Motor { stall_ohms, running_amps, rated_volts } => {
            least("stall ohms", stall_ohms, SMALLEST)
                .and(least("running amperes", running_amps, SMALLEST))
                .and(least("rated volts", rated_volts, SMALLEST))
        }
    }
}

/// Least rating of anything: below, its curve would leave the range of an `f64`.
const SMALLEST: f64 = 1e-6;
