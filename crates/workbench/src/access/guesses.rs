//! How often a PIN may be guessed.

use super::NotIn;

/// Wrong guesses without waiting: tired fingers. Own choice.
pub const FREE: u32 = 5;
/// Wrong guesses after which the door stays shut until the engineer opens it anew: with six digits a guesser then had a chance of three in a
/// hundred thousand. Own choice.
pub const MOST: u32 = 30;
/// Longest wait between two guesses. **Unit**: second. Own choice.
const LONGEST: u64 = 60;

/// Wrong guesses so far, by everybody together: addresses are easily changed.
#[derive(Debug, Default)]
pub struct Guesses {
    wrong: u32,
    not_before: u64,
}

impl Guesses {
    /// Whether a guess is looked at now. `now` counts seconds from any fixed moment.
    pub fn may_try(&self, now: u64) -> Result<(), NotIn> {
        match self.not_before.checked_sub(now) {
            _ if self.wrong >= MOST => Err(NotIn::Shut),
            Some(wait) if wait > 0 => Err(NotIn::Wait(wait)),
            _ => Ok(()),
        }
    }

    /// One more was wrong.
    pub fn was_wrong(&mut self, now: u64) {
        self.wrong = self.wrong.saturating_add(1);
        if let Some(over) = self.wrong.checked_sub(FREE) {
            self.not_before = now + LONGEST.min(2_u64.saturating_pow(over + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_wrong_guess_after_the_free_ones_waits_longer_and_thirty_are_enough() {
        let mut guesses = Guesses::default();
        let (mut now, mut waits) = (0, Vec::new());
        for _ in 0..MOST {
            match guesses.may_try(now) {
                Err(NotIn::Wait(wait)) => {
                    waits.push(wait);
                    now += wait;
                }
                other => assert_eq!(other, Ok(())),
            }
            assert_eq!(guesses.may_try(now), Ok(()));
            guesses.was_wrong(now);
        }
        assert_eq!(waits[..6], [2, 4, 8, 16, 32, 60]);
        assert_eq!(guesses.may_try(now + 100_000), Err(NotIn::Shut));
        assert!(now > 20 * 60, "thirty guesses take {now} s");
    }
}
