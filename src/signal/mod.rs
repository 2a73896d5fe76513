//! Measured signals: curves on their own frequencies, interpolation, phase from magnitude, sweeps
//! and what a recording of one holds. Knows nothing of drivers, circuits or files.

pub mod clipping;
pub mod clock;
pub mod curve;
pub mod deconvolve;
pub mod fft;
pub mod interpolate;
pub mod minimum_phase;
pub mod programme;
pub mod sweep;
pub mod take;
pub mod window;
