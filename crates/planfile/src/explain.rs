//! What each problem means, why it matters, and how to mend it.

/// The explanation of a problem by its code: what, why, how to mend; `None` for a code that is not ours.
pub fn explain(code: &str) -> Option<&'static str> {
    ALL.iter().find(|(known, _)| *known == code).map(|(_, text)| *text)
}

/// Every code that reading can report, in order.
pub fn codes() -> impl Iterator<Item = &'static str> {
    ALL.iter().map(|(code, _)| *code)
}

/// Codes and explanations, sorted by code. A code is never given another meaning.
const ALL: &[(&str, &str)] = &[
    (
        "list/empty",
        "The gear list has no row with anything in it.\n\
         Nothing can be taken into the plan.\n\
         Give a list with one row of column names and one row for each device. In a spreadsheet, check that the right sheet was saved.",
    ),
    (
        "list/too-large",
        "The gear list is larger than what is read.\n\
         A list of this size is most likely another file, such as one with pictures.\n\
         Check the file. If it is the right one, delete pictures and empty rows and save it again.",
    ),
    (
        "list/unreadable",
        "The gear list is neither a text with separators nor a spreadsheet that can be read.\n\
         It may be damaged, protected by a password, or of another kind.\n\
         Open it in a spreadsheet program and save it again as XLSX, ODS or CSV.",
    ),
    (
        "plan/bad-address",
        "An address is not written as an IPv4 address, or not of the kind that belongs there.\n\
         A wrong address is the most common reason why a device cannot be found.\n\
         Write a subnet with its first address and prefix (\"10.10.0.0/22\"), an interface with its own address and the same prefix \
         (\"10.10.1.11/22\"), and a multicast group as one address from 224.0.0.0 to 239.255.255.255.",
    ),
    (
        "plan/bad-date",
        "A date is not written as year, month and day.\n\
         Sheets print it, and two ways of writing a date are easily confused.\n\
         Write 2026-05-02.",
    ),
    (
        "plan/bad-name",
        "A name is empty or has a character that a name cannot have.\n\
         Names stand on labels, in addresses of pages and in file names, so they have to survive all three.\n\
         Use letters and digits of any script, `-`, `_` and `.`. Put what people call the thing into `title` or `name`.",
    ),
    (
        "plan/bad-port-name",
        "A port is not written as item, slash, port.\n\
         A cable can only be pulled if both of its ends are known.\n\
         Write \"foh-desk/1\". A switch numbers its ports from 1 in the order of its gear's `ports` list.",
    ),
    (
        "plan/bad-position",
        "A point on the floor plan does not have two or three numbers.\n\
         The drawing could not place it.\n\
         Write metres across, metres along and, if it matters, height: `at = [-9.0, 2.0]`.",
    ),
    (
        "plan/cable-to-itself",
        "Both ends of a cable are the same port.\n\
         Such a cable joins nothing.\n\
         Name the port at its other end.",
    ),
    (
        "plan/duplicate-id",
        "A device, a place or a switch has the name of another.\n\
         Labels and sheets show bare names; two things of one name send the crew to the wrong one.\n\
         Rename one of the two. Renaming in the pages, or with an edit, changes every mention.",
    ),
    (
        "plan/duplicate-key",
        "A name or key stands twice in one place.\n\
         Only one of the two could count, and nobody could say which.\n\
         Rename one of them, or join both tables under one header.",
    ),
    (
        "plan/empty",
        "The plan file has nothing in it but white space or remarks.\n\
         There is nothing to prove, and it may be the wrong file.\n\
         Start a plan with `new`, or write at least `[plan]` and a `name`. A plan without devices is fine.",
    ),
    (
        "plan/impossible-pairing",
        "A device is set to something that its gear type cannot do with its ports.\n\
         The wiring would be designed for a box that does not exist: a chained device passes its network on, an independent one never does.\n\
         Choose a pairing that the gear type lists, or add it to the gear's `pairing` if the data sheet says so.",
    ),
    (
        "plan/journey-breaks",
        "A journey names two streams in a row, and the first does not end in the device that sends the second.\n\
         The delay of the whole way would be added up along a way that no sound takes.\n\
         Put the stream in between into `through`, or take one of the two out.",
    ),
    (
        "plan/key-not-for-kind",
        "A key has no meaning for this kind of thing, such as a radio rate for a switch.\n\
         It would be ignored, and you would think it counted.\n\
         Take it out, or correct the `kind`.",
    ),
    (
        "plan/listed-twice",
        "A list names the same thing twice.\n\
         It counts once; the second is most likely meant to be another name.\n\
         Correct it or take it out.",
    ),
    (
        "plan/missing-key",
        "A table lacks a key that it cannot do without.\n\
         Nothing is assumed for it, because a wrong assumption would look like your decision.\n\
         Add the key as the message shows it.",
    ),
    (
        "plan/missing-unit",
        "A quantity is written without its unit.\n\
         38 could be metres or feet, and a wrong guess makes a cable too short.\n\
         Write number and unit in quotes: \"38 m\", \"1 ms\", \"1 Gb/s\", \"30 W\".",
    ),
    (
        "plan/negative",
        "A quantity that cannot be less than nothing is negative.\n\
         It is most likely a slip of the hand.\n\
         Write it without the minus sign, or correct it. Only points on the floor plan may be negative.",
    ),
    (
        "plan/no-receiver",
        "A stream goes to nobody.\n\
         It would load the network and reach no ear.\n\
         Name at least one device in `to`, or delete the stream.",
    ),
    (
        "plan/no-such-device",
        "A name that should lead to a device (or, for a cable's end, to a device or switch) leads nowhere.\n\
         A stream or cable with a loose end cannot be proved.\n\
         Correct the name, or add the device to the plan or the switch to the wiring.",
    ),
    (
        "plan/no-such-gear",
        "A gear type is neither in the plan nor in the shipped catalogue.\n\
         Without it, neither ports nor delay nor power of the device are known.\n\
         Correct the name, or describe the type under `[gear.NAME]` in the plan. The catalogue shows how.",
    ),
    (
        "plan/no-such-network",
        "A name should lead to a network of the plan and leads nowhere.\n\
         Cables, streams and addresses have to belong to a network that exists.\n\
         Correct the name, or add `[network.NAME]`.",
    ),
    (
        "plan/no-such-place",
        "A name should lead to a place and leads nowhere.\n\
         Without the place, no length and no walking order is known.\n\
         Correct the name, or add `[place.NAME]`.",
    ),
    (
        "plan/no-such-port",
        "A port is named that this gear does not have.\n\
         The crew would look for a jack that is not there.\n\
         Use a port that the gear type lists. A switch has ports from 1; an endpoint has the names under `audio-ports` and its control jack.",
    ),
    (
        "plan/no-such-route",
        "A cable lies in a route that the plan does not have.\n\
         Its length and what could cut it are then unknown.\n\
         Correct the name, or add `[route.NAME]` with `between` and `length`.",
    ),
    (
        "plan/no-such-stream",
        "A multicast group belongs to a stream that the plan does not have.\n\
         It is most likely left over from a stream that was renamed or deleted.\n\
         Correct the name, or delete the group.",
    ),
    (
        "plan/no-such-switch",
        "A switch is named that the wiring does not have.\n\
         A network without its querier loses its multicast members after a few minutes.\n\
         Correct the name, or add `[switch.NAME]` to the wiring.",
    ),
    (
        "plan/not-a-cable",
        "A cable or a route names a medium that only ports have.\n\
         A pluggable port takes a module; the cable in it is of copper or fibre.\n\
         Write \"copper\" or \"fibre\".",
    ),
    (
        "plan/not-a-number",
        "A number is missing, is not finite, or is too large to be meant.\n\
         Nothing can be computed from it.\n\
         Write a plain number, with its unit where the key takes one.",
    ),
    (
        "plan/not-a-receiver",
        "A device is named as a listener of streams that do not go to it.\n\
         It would be counted as playing in step, or as the end of a journey, though it hears nothing of it.\n\
         Name one of the receivers of these streams, or add the device to a stream's `to`.",
    ),
    (
        "plan/not-text",
        "The file is not a text in UTF-8.\n\
         It may be a spreadsheet, a picture, or a text saved with other letters.\n\
         Give the plan file. If it is one, save it as UTF-8 in your editor. Use `import` for a spreadsheet.",
    ),
    (
        "plan/not-two",
        "Something that has exactly two ends names fewer or more.\n\
         A route joins two places; a cable joins two ports.\n\
         Name two. For a way through three places, write two routes.",
    ),
    (
        "plan/out-of-range",
        "A number is outside what its field can hold, or zero where nothing could be met with zero.\n\
         A device would refuse the setting, or the proof would mean nothing.\n\
         Write a value within the limits that the message names.",
    ),
    (
        "plan/port-taken",
        "Two cables end at one port.\n\
         Only one plug fits.\n\
         Plug one of the two into another port.",
    ),
    (
        "plan/route-gap",
        "The routes of a cable do not lead, one after the other, from the place of its first end to that of its second.\n\
         The proof of what one cut silences, and the length, rest on where a cable lies.\n\
         List the routes in walking order from the first end. Add a route to the plan where a piece is missing. Within one place write `routes = []`.",
    ),
    (
        "plan/same-place",
        "A route leads from a place to itself.\n\
         A cable inside one place needs no route.\n\
         Name two different places, or delete the route.",
    ),
    (
        "plan/self-reference",
        "Something stands in for itself, such as a clock leader that is its own backup.\n\
         If it fails, both fail.\n\
         Name another device, or leave the backup out.",
    ),
    (
        "plan/stream-to-itself",
        "A stream goes from a device to the same device.\n\
         That is a matter for the device's own routing and needs no network.\n\
         Take the device out of `to`.",
    ),
    (
        "plan/syntax",
        "A line does not follow the grammar of the file (TOML).\n\
         What comes after it cannot be trusted, so names are not checked until it is mended.\n\
         Look for a missing quote, bracket or comma on this line or the one before it. Names with letters beyond a to z, dots or spaces stand in quotes.",
    ),
    (
        "plan/too-large",
        "The file is larger than what is read.\n\
         A plan of ten thousand devices has about two million bytes; this is most likely another file.\n\
         Check the file. Split a plan of this size by building.",
    ),
    (
        "plan/unknown-key",
        "A key or section is not one that this table has.\n\
         A misspelt key would be ignored, and you would think it counted.\n\
         Correct it as the message says, or take it out. Put remarks behind `#`.",
    ),
    (
        "plan/unknown-word",
        "A setting is not one of the words that it can be.\n\
         Nothing is guessed.\n\
         Write one of the words that the message lists.",
    ),
    (
        "plan/wrong-kind",
        "A gear type of one kind is used as another: a switch as a device, or an endpoint as a switch.\n\
         Devices are given and stand in the plan; switches are decided and stand in the wiring. A Wi-Fi router is a device.\n\
         Move it to the other file, or correct its `gear` or the `kind` of the gear type.",
    ),
    (
        "plan/wrong-type",
        "A value is of another sort than expected, such as a text where a list belongs.\n\
         It cannot be read as what was meant.\n\
         Write it as the message shows: texts in quotes, lists in brackets, numbers and true or false without quotes.",
    ),
    (
        "plan/wrong-unit",
        "A quantity has a unit that is not known here, such as feet, or a time where a length belongs.\n\
         Units are not converted from other systems, so that sheets and tape measures agree.\n\
         Use one of the units that the message lists. Capitals matter: Mb/s is not mb/s.",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_parts_each_and_in_order() {
        let codes: Vec<&str> = codes().collect();
        assert!(codes.windows(2).all(|pair| pair[0] < pair[1]), "sorted, none twice");
        for code in codes {
            let text = explain(code).unwrap_or_default();
            assert_eq!(text.lines().count(), 3, "{code}: what, why, how");
            assert!(text.lines().all(|line| line.ends_with('.')), "{code}");
        }
        assert_eq!(explain("plan/no-such-code"), None);
    }
}
