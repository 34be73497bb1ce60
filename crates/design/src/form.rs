//! Which shape the wiring is to have.

/// What a design is allowed to build.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Form {
    /// Whatever common practice asks for: a short chain where one will do, else switches.
    #[default]
    Usual,
    /// One chain through everything, however long.
    Chain,
    /// A chain that is closed.
    Ring,
    /// Switches, every device on one of them.
    Switches,
    /// Switches, with devices of one place chained behind one port where their ports allow it.
    ChainsInPlaces,
}
