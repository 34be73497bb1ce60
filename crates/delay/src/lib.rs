//! Load and worst-case delay of every stream, in exact integer time.
