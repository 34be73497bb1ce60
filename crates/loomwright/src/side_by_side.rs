//! Two threads for two pieces of work: the proof itself starts none.

use loomwright_proof::beside::Work;

/// Does both at once and returns when both are done.
pub fn side_by_side(one: Work<'_>, two: Work<'_>) {
    std::thread::scope(|scope| {
        scope.spawn(one);
        two();
    });
}
