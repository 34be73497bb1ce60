//! A moment as it is written in the log.

/// Seconds in a day.
const DAY: u64 = 86_400;

/// Seconds since 1970-01-01 00:00 UTC as `2026-05-02T14:03:22Z`.
///
/// **Source**: RFC 3339 for the form; the rule of leap years of the Gregorian calendar.
///
/// ```
/// assert_eq!(loomwright_crewlog::utc(951_826_154), "2000-02-29T12:09:14Z");
/// ```
pub fn utc(seconds: u64) -> String {
    let (mut days, rest) = (seconds / DAY, seconds % DAY);
    let mut year = 1970_u64;
    while days >= days_of(year) {
        days -= days_of(year);
        year += 1;
    }
    let mut month = 1;
    while days >= days_in(year, month) {
        days -= days_in(year, month);
        month += 1;
    }
    format!("{year:04}-{month:02}-{:02}T{:02}:{:02}:{:02}Z", days + 1, rest / 3600, rest / 60 % 60, rest % 60)
}

fn is_leap(year: u64) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

fn days_of(year: u64) -> u64 {
    if is_leap(year) { 366 } else { 365 }
}

fn days_in(year: u64, month: u64) -> u64 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if is_leap(year) => 29,
        2 => 28,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// **Source**: `date -u -d @SECONDS +%FT%TZ` of GNU coreutils 9.1.
    #[test]
    fn moments_are_written_as_another_program_writes_them() {
        for (seconds, text) in [
            (0, "1970-01-01T00:00:00Z"),
            (68_169_599, "1972-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_777_730_602, "2026-05-02T14:03:22Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ] {
            assert_eq!(utc(seconds), text);
        }
    }
}
