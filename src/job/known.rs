//! What the ids in a job's events stand for.

use std::sync::Arc;

use crate::circuit::{Circuit, PartId, PlaceId};
use crate::tester::Instrument;
use crate::tester::expectations::Column;
use crate::tester::name;

use super::error::JobError;
use super::study::Study;

/// The part called `id`.
pub(super) fn part_called(circuit: &Circuit, id: &str) -> Result<PartId, JobError> {
    let found = circuit.part_ids().find(|part| circuit.part(*part).id == id);
    found.ok_or_else(|| JobError::Unknown { what: "part", id: id.to_owned() })
}

/// The place called `id`.
pub(super) fn place_called(circuit: &Circuit, id: &str) -> Result<PlaceId, JobError> {
    let found = circuit.places.iter().position(|place| place.id == id);
    let unknown = || JobError::Unknown { what: "place", id: id.to_owned() };
    found.map(|at| PlaceId(at as u32)).ok_or_else(unknown)
}

/// The tester called `id`.
pub(super) fn tester_called(id: &str) -> Result<Instrument, JobError> {
    let unknown = || JobError::Unknown { what: "tester", id: id.to_owned() };
    Instrument::KIT.into_iter().find(|one| one.id() == id).ok_or_else(unknown)
}

/// The expected readings of the test called `id`, by a study.
pub(super) fn known(study: &Study, id: &str) -> Result<Arc<Column>, JobError> {
    if let Some(column) = study.known(id) {
        return Ok(column);
    }
    let test = name::parse(study.circuit(), id)?;
    Ok(study.column(&test)?)
}
