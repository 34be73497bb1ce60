//! Reads and edits plan, wiring, gear and spreadsheets, with a source span for every value.
