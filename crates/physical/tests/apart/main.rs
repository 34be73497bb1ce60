//! Ways apart: worked and published cases, and a slow search that tries every pair of ways.

mod cases;
mod every_pair;
mod graph;
