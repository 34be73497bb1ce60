//! Layouts and SVG drawings of a wiring.
