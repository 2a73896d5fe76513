//! What the edges of a panel do must keep its symmetries and its limits.
