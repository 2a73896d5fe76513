//! Electrical networks: prototypes, synthesis, the nodal solver. Knows nothing of drivers, air or
//! files; what it feeds is an impedance on the grid.

pub mod attenuator;
pub mod branch;
pub mod cable;
pub mod compensation;
pub mod direct;
pub mod flows;
pub mod ladder;
pub mod lanes;
pub mod linear;
pub mod load;
pub mod mutual;
pub mod network;
mod nodal;
pub mod output_filter;
pub mod plan;
pub mod preferred;
pub mod prototype;
pub mod rules;
pub mod sensitivity;
pub mod slope;
pub mod solve;
pub mod trace;
pub mod winding;
pub mod wire;
