//! Figures as plain data, and their drawing as SVG.
//!
//! A [`Figure`] is a stack of [`Panel`]s over one common x axis. It holds numbers and
//! words only; [`svg`] lays it out and returns the finished document. What a line stands
//! for is said by its [`Ink`], so that one quantity looks alike in every figure. A panel with a
//! [`Field`] is a map. A [`Drawing`] shows things to scale, in [`View`]s with dimensions.
//!
//! Drawing never fails: values that are not finite interrupt a line, lines are cut at the
//! frame, and an unusable axis range is replaced by a usable one.

mod axis;
mod canvas;
mod clip;
mod contour;
mod draft;
mod drawing;
mod field;
mod figure;
mod hatch;
mod ink;
mod layout;
mod map;
mod place;
mod plot;
mod ramp;
pub mod schematic;
mod sheet;
mod svg;
mod words;

pub use axis::{Axis, Scale};
pub use drawing::{Dimension, Drawing, Form, Label, Measure, Row, Shape, Stand, Substance, View};
pub use field::{Field, Hatched, Shades};
pub use figure::{Band, Figure, Mark, Panel, Rule, Trace, Upright};
pub use ink::Ink;
pub use schematic::schematic_svg;
pub use svg::{drawing_svg, svg};

#[cfg(test)]
mod tests;
