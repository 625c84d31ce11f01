//! The expected readings of a study: of the tests that are asked for, or of all worth thinking of.

use std::sync::Arc;

use super::Study;
use crate::tester::Test;
use crate::tester::expectations::{BenchError, Column};

impl Study {
    /// The expected readings of all tests worth thinking of, reckoned when first asked for.
    ///
    /// # Errors
    /// Where one of their setups has no operating point.
    pub fn columns(&self) -> Result<&[Arc<Column>], &BenchError> {
        let reckon = || {
            let columns = self.bench.columns(self.tests())?;
            Ok(columns.into_iter().map(Arc::new).collect())
        };
        self.readings.all.get_or_init(reckon).as_deref()
    }

    /// The expected readings of one test.
    ///
    /// # Errors
    /// Where its setup has no operating point.
    pub fn column(&self, test: &Test) -> Result<Arc<Column>, BenchError> {
        if let Some(column) = self.known(&test.id) {
            return Ok(column);
        }
        let column = Arc::new(self.bench.column_of(test)?);
        Ok(Arc::clone(self.readings.known().entry(test.id.clone()).or_insert(column)))
    }

    /// The expected readings of some tests, in their order; what is not known yet is solved once a setup.
    ///
    /// # Errors
    /// Where one of their setups has no operating point.
    pub fn columns_of(&self, tests: &[Test]) -> Result<Vec<Arc<Column>>, BenchError> {
        let missing = tests.iter().filter(|test| self.known(&test.id).is_none());
        let missing: Vec<Test> = missing.cloned().collect();
        let columns = self.bench.columns(&missing)?;
        let mut known = self.readings.known();
        for column in columns {
            known.entry(column.test.id.clone()).or_insert_with(|| Arc::new(column));
        }
        Ok(tests.iter().map(|test| Arc::clone(&known[&test.id])).collect())
    }

    /// The expected readings of a test, if they were reckoned before.
    pub fn known(&self, id: &str) -> Option<Arc<Column>> {
        self.readings.known().get(id).cloned()
    }
}
