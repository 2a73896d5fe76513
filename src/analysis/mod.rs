//! What is computed from a design: it brings model and circuit together, and knows nothing of
//! files, pictures or terminals.

pub mod clearance;
pub mod deviation;
pub mod finding;
pub mod limits;
pub mod side;
pub mod study;
pub mod synthesis;
pub mod textbook;
