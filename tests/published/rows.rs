//! Rows of expected values: loading them from TOML and comparing with the row's own tolerance.
//!
//! Two layouts occur. Flat: `[[kind]]` with inputs, `expect_*` and `tolerance_*` keys side by side.
//! Nested: `[[row]]` with `kind` and the tables `in`, `expect`, `tol`. Either way a key that ends
//! in `_db` or `_deg` is held to the tolerance of that unit alone where the row states one, and
//! everything else to absolute + relative × |expected|.

use num_complex::Complex64;
use slabtone::grid::wrap_deg;
use std::cell::RefCell;
use std::collections::BTreeSet;
use toml::{Table, Value};

/// What stands for minus infinity: below this level in dB a cancellation counts as exact.
const CANCELLED_DB: f64 = -100.0;

/// Allowed deviations of one row.
#[derive(Default)]
struct Tolerance {
    abs: f64,
    rel: f64,
    db: Option<f64>,
    deg: Option<f64>,
    /// Relative, of the frequency of an extremum.
    extremum_rel: Option<f64>,
    /// Of a complex pair: |error| over |value|.
    complex_rel: Option<f64>,
}

/// One row; it remembers which of its expected keys were checked.
pub struct Row {
    pub id: String,
    input: Table,
    expect: Table,
    tolerance: Tolerance,
    seen: RefCell<BTreeSet<String>>,
}

/// All rows of `kind` in the TOML text, which must be `count` in number.
pub fn rows(text: &str, kind: &str, count: usize) -> Vec<Row> {
    let table: Table = text.parse().expect("a table of rows is valid TOML");
    let tables = |key: &str| -> Vec<Table> {
        let list = table.get(key).and_then(Value::as_array).cloned().unwrap_or_default();
        list.into_iter().filter_map(|row| row.as_table().cloned()).collect()
    };
    let of_kind = |row: &Table| row["kind"].as_str() == Some(kind);
    let nested = tables("row").into_iter().filter(of_kind).map(Row::nested);
    let found: Vec<Row> = tables(kind).into_iter().map(Row::flat).chain(nested).collect();
    assert_eq!(found.len(), count, "number of rows of kind `{kind}`");
    found
}

impl Row {
    fn flat(row: Table) -> Self {
        let limit = |key: &str| row.get(key).map(number);
        let tolerance = Tolerance {
            abs: limit("tolerance_abs").unwrap_or(0.0),
            rel: limit("tolerance_rel").unwrap_or(0.0),
            db: limit("tolerance_abs_db"),
            deg: limit("tolerance_abs_deg"),
            extremum_rel: limit("tolerance_rel_f"),
            complex_rel: None,
        };
        let (mut input, mut expect) = (Table::new(), Table::new());
        for (key, value) in row {
            match key.strip_prefix("expect_") {
                Some(name) => expect.insert(name.to_owned(), value),
                None => input.insert(key, value),
            };
        }
        Self::new(input, expect, tolerance)
    }

    fn nested(row: Table) -> Self {
        let part = |key: &str| row[key].as_table().cloned().expect("in, expect, tol are tables");
        let tol = part("tol");
        let limit = |key: &str| tol.get(key).map(number);
        let tolerance = Tolerance {
            abs: limit("abs").unwrap_or(0.0),
            rel: limit("rel").unwrap_or(0.0),
            db: limit("db"),
            deg: limit("deg"),
            extremum_rel: None,
            complex_rel: limit("cplx_rel"),
        };
        let mut input = part("in");
        input.insert("id".to_owned(), row["id"].clone());
        Self::new(input, part("expect"), tolerance)
    }

    fn new(input: Table, expect: Table, tolerance: Tolerance) -> Self {
        let id = input["id"].as_str().expect("a row has an id").to_owned();
        Self { id, input, expect, tolerance, seen: RefCell::default() }
    }

    /// Counts the inputs `keys` among the expected values (rows that state values without
    /// the prefix).
    pub fn expecting(mut self, keys: &[&str]) -> Self {
        for &key in keys {
            let value = self.input.remove(key).unwrap_or_else(|| self.missing(key));
            self.expect.insert(key.to_owned(), value);
        }
        self
    }

    /// Whether the row states an input `key`.
    pub fn has(&self, key: &str) -> bool {
        self.input.contains_key(key)
    }

    /// Whether the row expects a value for `key`.
    pub fn expects(&self, key: &str) -> bool {
        self.expect.contains_key(key)
    }

    /// A number among the inputs.
    pub fn number(&self, key: &str) -> f64 {
        number(self.given(key))
    }

    /// A list of numbers among the inputs.
    pub fn numbers(&self, key: &str) -> Vec<f64> {
        list(self.given(key))
    }

    /// A list of lists of numbers among the inputs.
    pub fn lists(&self, key: &str) -> Vec<Vec<f64>> {
        let all = self.given(key).as_array().unwrap_or_else(|| self.missing(key));
        all.iter().map(list).collect()
    }

    /// A yes or no among the inputs.
    pub fn flag(&self, key: &str) -> bool {
        self.given(key).as_bool().unwrap_or_else(|| self.missing(key))
    }

    /// A text among the inputs.
    pub fn text(&self, key: &str) -> &str {
        self.given(key).as_str().unwrap_or_else(|| self.missing(key))
    }

    /// The expected value itself, for what is no number; counts as checked.
    pub fn expected(&self, key: &str) -> &Value {
        self.seen.borrow_mut().insert(key.to_owned());
        self.expect.get(key).unwrap_or_else(|| self.missing(key))
    }

    /// An expected list of numbers, to be used as well as checked.
    pub fn expected_numbers(&self, key: &str) -> Vec<f64> {
        list(self.expected(key))
    }

    /// Compares one number.
    pub fn check(&self, key: &str, got: f64) {
        self.compare(key, got, number(self.expected(key)));
    }

    /// Compares a list of numbers.
    pub fn check_all(&self, key: &str, got: &[f64]) {
        let want = self.expected_numbers(key);
        assert_eq!(got.len(), want.len(), "{}: number of values of {key}", self.id);
        got.iter().zip(want).for_each(|(&got, want)| self.compare(key, got, want));
    }

    /// Compares complex numbers told as two lists, real and imaginary parts, and returns the largest
    /// |error| over |value|.
    pub fn check_pairs(&self, keys: [&str; 2], got: &[Complex64]) -> f64 {
        let [re, im] = keys.map(|key| self.expected_numbers(key));
        let allowed = self.tolerance.complex_rel.unwrap_or_else(|| self.missing("cplx_rel"));
        assert_eq!((got.len(), got.len()), (re.len(), im.len()), "{}: number of values", self.id);
        let want = re.into_iter().zip(im).map(|(re, im)| Complex64::new(re, im));
        let errors = got.iter().zip(want).map(|(got, want)| {
            let error = (got - want).norm() / want.norm();
            assert!(error <= allowed, "{}: got {got}, expected {want}, off by {error:e}", self.id);
            error
        });
        errors.fold(0.0, f64::max)
    }

    /// Asserts that every expected key was checked.
    pub fn done(&self) {
        let seen = self.seen.borrow();
        let left: Vec<&String> = self.expect.keys().filter(|k| !seen.contains(*k)).collect();
        assert!(!seen.is_empty() && left.is_empty(), "{}: never checked: {left:?}", self.id);
    }

    fn compare(&self, key: &str, got: f64, want: f64) {
        if want == f64::NEG_INFINITY {
            assert!(got < CANCELLED_DB, "{} {key}: {got} where nothing should be left", self.id);
            return;
        }
        let is_phase = key.contains("phase") && key.ends_with("_deg");
        let error = if is_phase { wrap_deg(got - want).abs() } else { (got - want).abs() };
        let allowed = self.allowed(key, want);
        assert!(
            error <= allowed,
            "{} {key}: got {got}, expected {want}, off by {error:e}, allowed {allowed:e}",
            self.id
        );
    }

    fn allowed(&self, key: &str, want: f64) -> f64 {
        let t = &self.tolerance;
        let of_unit = match key {
            _ if key.ends_with("_db") => t.db,
            _ if key.ends_with("_deg") => t.deg,
            _ if key.starts_with("f_of_") => t.extremum_rel.map(|rel| rel * want.abs()),
            _ => None,
        };
        let allowed = of_unit.unwrap_or(t.abs + t.rel * want.abs());
        let stated = allowed > 0.0 || want == 0.0;
        assert!(stated, "{}: no tolerance is stated for {key}", self.id);
        allowed
    }

    fn given(&self, key: &str) -> &Value {
        self.input.get(key).unwrap_or_else(|| self.missing(key))
    }

    fn missing<T>(&self, key: &str) -> T {
        panic!("{}: no usable `{key}`", self.id)
    }
}

fn number(value: &Value) -> f64 {
    match value {
        Value::Float(v) => *v,
        Value::Integer(v) => *v as f64,
        other => panic!("not a number: {other}"),
    }
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list of numbers").iter().map(number).collect()
}

/// Three rows with one mistake each: the comparison must see it.
mod the_guard_itself {
    use super::rows;

    const TEXT: &str = r#"
        [[thing]]
        id = "flat"
        expect_level_db = -3.0
        expect_turns = 2
        tolerance_rel = 1e-6
        tolerance_abs_db = 1e-3

        [[row]]
        id = "nested"
        kind = "other"
        in = {}
        expect = { phase_deg = 179.9999 }
        tol = { rel = 1e-6, deg = 1e-3 }
    "#;

    #[test]
    fn values_within_tolerance_pass_and_phases_may_wrap() {
        let row = &rows(TEXT, "thing", 1)[0];
        row.check("level_db", -3.0009);
        row.check("turns", 2.000_001);
        row.done();
        rows(TEXT, "other", 1)[0].check("phase_deg", -179.9999);
    }

    #[test]
    #[should_panic(expected = "flat level_db: got")]
    fn a_level_out_of_tolerance_is_refused() {
        rows(TEXT, "thing", 1)[0].check("level_db", -3.0011);
    }

    #[test]
    #[should_panic(expected = "never checked")]
    fn a_key_that_was_not_checked_is_refused() {
        let row = &rows(TEXT, "thing", 1)[0];
        row.check("turns", 2.0);
        row.done();
    }

    #[test]
    #[should_panic(expected = "number of rows of kind `absent`")]
    fn a_kind_without_rows_is_refused() {
        rows(TEXT, "absent", 1);
    }
}
