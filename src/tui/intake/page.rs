//! One question as it is shown: its rows, and how it is answered.

/// One row of a page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// Its words.
    pub text: String,
    /// More about it, shown while it is marked.
    pub detail: String,
    /// Words it is also found by.
    pub search: String,
    /// Of a list that is ticked: whether it is.
    pub on: Option<bool>,
}

impl Row {
    /// A row of words alone.
    pub fn new(text: impl Into<String>) -> Row {
        Row { text: text.into(), ..Row::default() }
    }
}

/// How a page is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    /// One row is picked.
    Pick,
    /// Rows are ticked, then taken together.
    Tick,
    /// A number is typed.
    Number,
}

/// One question.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// What it is about: machine and circuit; empty before they are known.
    pub about: String,
    /// What is asked.
    pub title: String,
    /// What passing it over means.
    pub skipped: &'static str,
    /// What can be picked or ticked.
    pub rows: Vec<Row>,
    /// How it is answered.
    pub manner: Manner,
    /// The list is long: letters search in it.
    pub long: bool,
}

impl Page {
    /// Positions of the rows with every word searched for.
    pub fn matching(&self, search: &str) -> Vec<usize> {
        let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
        let has = |row: &Row| {
            let text = format!("{} {} {}", row.text, row.detail, row.search).to_lowercase();
            words.iter().all(|word| text.contains(word))
        };
        (0..self.rows.len()).filter(|at| has(&self.rows[*at])).collect()
    }
}
