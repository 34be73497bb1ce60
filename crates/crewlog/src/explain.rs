//! What each kind of open end in a record means, why it matters, and where the rule comes from.

/// Nobody says that this end is plugged in.
pub const UNPLUGGED: &str = "crew/unplugged";
/// People said different things.
pub const DISPUTED: &str = "crew/disputed";
/// Evidence that could not be read.
pub const UNREAD: &str = "crew/unread";

/// One kind of open end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// Its code, `crew/..`.
    pub code: &'static str,
    /// What it is, in one sentence.
    pub title: &'static str,
    /// How it is told, why it matters, what to do; paragraphs are parted by an empty line.
    pub text: &'static str,
    /// Where the rule comes from.
    pub source: &'static str,
}

/// Every kind, by code. A code is never given another meaning.
pub const fn explanations() -> &'static [Explanation] {
    ALL
}

const ALL: &[Explanation] = &[
    Explanation {
        code: DISPUTED,
        title: "Two people said different things about a cable end or a test.",
        text: "Told when one says that an end is plugged, or a cable good, and another says it is not, and neither knew of the other's word: \
               two phones, one of them in a dead spot, or two people at once. It does not count as done.\n\n\
               One of them looked at another cable, or at another moment. To believe the later word would hide the mistake.\n\n\
               Go there and look. Then say on the cable's page what is so: whoever sees both words decides.",
        source: "own rule; docs/crewlog.md",
    },
    Explanation {
        code: UNPLUGGED,
        title: "Nobody has ticked this cable end.",
        text: "Told for every planned cable end without a tick, when the line check is recorded or signed. It says what nobody vouched for, not \
               that the plug is out: where the network was heard as planned, the page Line check says so beside the end.\n\n\
               An end that was forgotten is found now, in daylight, and not by a silent receiver during the show.\n\n\
               Go to the place, compare the label with the plan, plug it in, tick it.",
        source: "own rule; docs/crewlog.md",
    },
    Explanation {
        code: UNREAD,
        title: "A file of evidence could not be read, or not all of it.",
        text: "Told with the file and the place in it. What else is in the file counts; what differs may be in the part that does not.\n\n\
               A record with unread evidence is not a clean line check.\n\n\
               Take the table or the capture once more, unpack it if it is compressed, and drop it in again; set the unreadable one aside.",
        source: "own rule",
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn are_sorted_and_complete() {
        assert!(ALL.windows(2).all(|two| two[0].code < two[1].code));
        for one in ALL {
            assert!(
                one.code.starts_with("crew/") && one.title.ends_with('.') && one.text.ends_with('.') && !one.source.is_empty(),
                "{one:?}"
            );
        }
    }
}
