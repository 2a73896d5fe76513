//! Incoming inspection: limits for the factory, what is wrong with a unit, and a batch as a whole.
//!
//! A sweep at the terminals of one side is compared with limits from the accepted population
//! ([`gate`]), and explained by the model of that side with one fault at a time ([`diagnose`]). What
//! does not depend on the unit is computed once ([`twin::Twin`], [`diagnose::Diagnosis`]).

pub mod batch;
pub mod conformity;
pub mod diagnose;
pub mod examine;
pub mod fault;
pub mod gate;
pub mod key_figures;
pub mod measuring;
pub mod pairs;
mod parameters;
pub mod population;
pub mod risk;
pub mod rub;
pub mod twin;
