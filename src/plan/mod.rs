//! Which test or repair comes next: expected minutes to a proven repair.
