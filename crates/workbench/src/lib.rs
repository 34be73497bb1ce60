//! The pages: a local server for one plan and any number of browsers.
