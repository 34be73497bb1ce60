//! Frames that ask the other end to stop sending. **Source**: IEEE 802.3 annex 31B, IEEE 802.1Qbb (from memory).

use crate::bytes::Octets;

/// One request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pause {
    /// Longest time asked for. **Unit**: 512 bit times.
    pub longest: u16,
    /// Whether it pauses by priority class.
    pub by_class: bool,
}

/// Reads a MAC control frame; `None` if it is no pause.
pub fn read(payload: &[u8]) -> Option<Pause> {
    let mut octets = Octets(payload);
    match octets.u16()? {
        0x0001 => Some(Pause { longest: octets.u16()?, by_class: false }),
        0x0101 => {
            let classes = octets.u16()?;
            let times = (0..8).filter_map(|class| Some((class, octets.u16()?)));
            let longest = times.filter(|(class, _)| classes >> class & 1 == 1).map(|(_, time)| time).max();
            Some(Pause { longest: longest.unwrap_or_default(), by_class: true })
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn by_port_and_by_class() {
        assert_eq!(read(&[0, 1, 0xff, 0xff, 0]), Some(Pause { longest: 0xffff, by_class: false }));
        let by_class = [1, 1, 0, 0b10, 0, 9, 0, 5, 0, 7, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        assert_eq!(read(&by_class), Some(Pause { longest: 5, by_class: true }));
        assert_eq!((read(&[0, 2, 0, 0]), read(&[0, 1, 0])), (None, None));
    }
}
