//! Figures as plain data, and their drawing as SVG.
//!
//! A [`Figure`] is a stack of [`Panel`]s over one common x axis. It holds numbers and
//! words only; [`svg`] lays it out and returns the finished document. What a line stands
//! for is said by its [`Ink`], so that one quantity looks alike in every figure.
//!
//! Drawing never fails: values that are not finite interrupt a line, lines are cut at the
//! frame, and an unusable axis range is replaced by a usable one.

mod axis;
mod canvas;
mod clip;
mod figure;
mod ink;
mod layout;
mod place;
mod plot;
mod svg;
mod words;

pub use axis::{Axis, Scale};
pub use figure::{Band, Figure, Mark, Panel, Rule, Trace, Upright};
pub use ink::Ink;
pub use svg::svg;

#[cfg(test)]
mod tests;
