//! Electrical networks: prototypes, synthesis, the nodal solver. Knows nothing of drivers, air or
//! files; what it feeds is an impedance on the grid.

pub mod attenuator;
pub mod branch;
pub mod compensation;
pub mod flows;
pub mod ladder;
pub mod linear;
pub mod load;
pub mod mutual;
pub mod network;
mod nodal;
pub mod preferred;
pub mod prototype;
pub mod rules;
pub mod sensitivity;
pub mod slope;
pub mod solve;
pub mod winding;
pub mod wire;
