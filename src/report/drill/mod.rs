//! The review of a drill, and question sheets.

pub mod review;
pub mod sheet_html;
pub mod sheet_markdown;
