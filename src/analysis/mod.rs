//! What is computed from a design: it brings model and circuit together, and knows nothing of
//! files, pictures or terminals.

pub mod acoustics;
pub mod choice;
pub mod clearance;
pub mod compare;
pub mod cone_load;
pub mod cost_down;
pub mod deviation;
pub mod directions;
pub mod drive;
pub mod explore;
pub mod extract;
pub mod finding;
pub mod guard;
pub mod hearing;
pub mod heating;
pub mod identify;
pub mod limits;
pub mod loudest;
pub mod noise;
pub mod offset;
pub mod parts_list;
pub mod placement;
mod recent;
pub mod ripple;
pub mod seat;
pub mod shaping;
pub mod sheet;
pub mod shelf;
pub mod side;
pub mod study;
pub mod synthesis;
pub mod textbook;
pub mod till;
pub mod tune;
pub mod wander;
