//! What falls silent when something fails.
