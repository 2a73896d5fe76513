//! JSON documents: SI units, stable keys, a version, and never a NaN, an infinity or a null.

use num_complex::Complex64;
use serde::Serialize;
use serde_json::Value;

/// Version of the documents' layout; raised when a key changes its meaning or goes.
pub const SCHEMA_VERSION: u32 = 1;

/// A number that is not finite was about to be written: a fault of the program.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the result at `{place}` is not a finite number; please report the input that led to it")]
pub struct NotFinite {
    /// Path of the value in the document.
    pub place: String,
}

/// A complex curve as two arrays.
#[derive(Debug, Clone, Serialize)]
pub struct ComplexArrays {
    /// Real parts.
    pub re: Vec<f64>,
    /// Imaginary parts.
    pub im: Vec<f64>,
}

impl ComplexArrays {
    /// Splits complex samples.
    pub fn of(values: &[Complex64]) -> Self {
        Self {
            re: values.iter().map(|v| v.re).collect(),
            im: values.iter().map(|v| v.im).collect(),
        }
    }
}

/// The document as indented text.
///
/// # Errors
/// A value in it is not finite (documents hold no nulls of their own).
pub fn text(document: &impl Serialize) -> Result<String, NotFinite> {
    let value = finite(document)?;
    serde_json::to_string_pretty(&value).map_err(|e| NotFinite { place: e.to_string() })
}

/// The document on one line.
///
/// # Errors
/// As for [`text`].
pub fn compact(document: &impl Serialize) -> Result<String, NotFinite> {
    Ok(finite(document)?.to_string())
}

fn finite(document: &impl Serialize) -> Result<Value, NotFinite> {
    let refused = |place: String| NotFinite { place };
    let value = serde_json::to_value(document).map_err(|e| refused(e.to_string()))?;
    match first_null(&value, "") {
        Some(place) => Err(refused(place)),
        None => Ok(value),
    }
}

/// serde_json writes what is not finite as null.
fn first_null(value: &Value, place: &str) -> Option<String> {
    match value {
        Value::Null => Some(place.to_owned()),
        Value::Array(items) => {
            items.iter().enumerate().find_map(|(i, v)| first_null(v, &format!("{place}[{i}]")))
        }
        Value::Object(map) => {
            map.iter().find_map(|(key, v)| first_null(v, &format!("{place}.{key}")))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_that_is_not_finite_is_refused_with_its_place() {
        #[derive(Serialize)]
        struct Document {
            levels: Vec<f64>,
        }
        let error = text(&Document { levels: vec![1.0, f64::NAN] }).unwrap_err();
        assert_eq!(error.place, ".levels[1]");
    }
}
