//! Which pictures are kept.

/// Largest picture. **Unit**: octet. Own choice: above what phones make (3 to 8 MB, from memory), below what fills a disk.
pub const LARGEST: usize = 12 * 1024 * 1024;

/// What a picture is, by its first octets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    WebP,
}

impl Kind {
    /// Looks at the octets; what the sender says does not count. `None` for anything that browsers would not show as a picture.
    ///
    /// **Source**: first octets of ITU-T T.81 (start of image), ISO/IEC 15948 (signature), RFC 9649 (RIFF header).
    pub fn of(octets: &[u8]) -> Option<Self> {
        match octets {
            [0xff, 0xd8, 0xff, ..] => Some(Self::Jpeg),
            [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, ..] => Some(Self::Png),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::WebP),
            _ => None,
        }
    }

    /// The ending of its file.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::WebP => "webp",
        }
    }

    /// Its media type.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::WebP => "image/webp",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_pictures_pass() {
        assert_eq!(Kind::of(b"\xff\xd8\xff\xe0rest"), Some(Kind::Jpeg));
        assert_eq!(Kind::of(b"\x89PNG\r\n\x1a\nrest"), Some(Kind::Png));
        assert_eq!(Kind::of(b"RIFF\0\0\0\0WEBPVP8 "), Some(Kind::WebP));
        for other in [&b""[..], b"\xff\xd8", b"<svg xmlns=", b"<html>", b"%PDF-1.7", b"RIFF\0\0\0\0WAVEfmt ", b"GIF89a"] {
            assert_eq!(Kind::of(other), None, "{other:?}");
        }
    }
}
