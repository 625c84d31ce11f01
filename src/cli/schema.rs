//! `schema`: the circuit file's JSON Schema, for editors.

use super::args::Schema;
use super::exit::{CliError, End};
use super::write;
use crate::circuit::schema::schema;
use crate::report::plain;

/// Runs `schema`.
pub fn run(schema_args: &Schema) -> Result<End, CliError> {
    let text = format!("{}\n", plain::json(&schema()));
    write::out(schema_args.out.out.as_deref(), schema_args.out.force, &text)?;
    Ok(End::Fine)
}
