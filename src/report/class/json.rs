//! The class record for programs.

use super::Class;
use crate::report::{mark, plain};

/// The whole record, in one line.
pub fn write(class: &Class) -> String {
    #[derive(serde::Serialize)]
    struct Made<'a> {
        made_by: &'static str,
        #[serde(flatten)]
        class: &'a Class,
    }
    plain::json(&Made { made_by: mark::MADE_BY, class }) + "\n"
}
