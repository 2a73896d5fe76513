//! Electrical networks: prototypes, synthesis, the nodal solver. Knows nothing of drivers, air or
//! files; what it feeds is an impedance on the grid.

pub mod attenuator;
pub mod branch;
pub mod compensation;
pub mod ladder;
pub mod lanes;
pub mod linear;
pub mod load;
pub mod network;
mod nodal;
pub mod plan;
pub mod preferred;
pub mod prototype;
pub mod sensitivity;
pub mod slope;
pub mod solve;
