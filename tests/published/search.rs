//! Searching a function of one variable: lowest place and change of sign.

/// Steps that shrink a bracket to the last digit.
const GOLDEN_STEPS: usize = 90;
const BISECTIONS: usize = 120;

/// Where `f` is lowest between `low` and `high`, if it has one valley there (golden section).
pub fn lowest(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let share = (5f64.sqrt() - 1.0) / 2.0;
    for _ in 0..GOLDEN_STEPS {
        let (left, right) = (high - share * (high - low), low + share * (high - low));
        if f(left) < f(right) { high = right } else { low = left }
    }
    0.5 * (low + high)
}

/// Where `f` changes its sign between `low` and `high` (bisection).
pub fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let falling = f(low) > 0.0;
    assert_ne!(falling, f(high) > 0.0, "no change of sign between {low} and {high}");
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (low + high);
        if (f(middle) > 0.0) == falling { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
