//! Links that carry a whole worksheet: `#1.` and then its text, compressed (deflate without a
//! header, RFC 1951) and written in the 64 characters of RFC 4648, section 5, without padding. The
//! text is an address fragment (one problem) or a worksheet file. The number in front says how to
//! read the rest: when that changes, it becomes another number, and this one is read as ever.
//!
//! The browser compresses; here is what stands around it.

/// What every such link begins with, behind `#`.
const VERSION: &str = "1.";

/// A longer link is not opened.
pub const LONGEST_READ: usize = 400_000;

/// A text that unpacks to more is not opened: so little may grow to gigabytes.
pub const LONGEST_TEXT: usize = crate::file::LONGEST;

/// A longer link is not offered. Nothing limits what stands behind `#` but what people send links
/// through: RFC 9110, section 4.1, asks everyone for 8000 octets, and asks for no more.
pub const LONGEST_OFFERED: usize = 8000;

/// What is said about a link that cannot be unpacked.
pub const BROKEN: &str = "This link is broken: part of it is missing or was changed on the way. Nothing was opened; ask for it again.";

/// What is said about a link that holds too much.
pub const TOO_LONG: &str = "This link holds more than any worksheet. Nothing was opened.";

const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

/// Does an address's fragment, with or without its `#`, hold a packed worksheet of some version?
pub fn is_packed(fragment: &str) -> bool {
    let fragment = fragment.strip_prefix('#').unwrap_or(fragment);
    let number = fragment.split('.').next().unwrap_or("");
    number.len() < fragment.len()
        && !number.is_empty()
        && number.bytes().all(|byte| byte.is_ascii_digit())
}

/// The fragment, without `#`, of a compressed text.
pub fn write(compressed: &[u8]) -> String {
    let mut out = String::from(VERSION);
    for three in compressed.chunks(3) {
        let byte = |at: usize| three.get(at).copied().map_or(0, usize::from);
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..=three.len() {
            let letter = bits >> (18 - 6 * place) & 63;
            out.push(ALPHABET.get(letter).map_or('A', |byte| char::from(*byte)));
        }
    }
    out
}

/// The compressed text of a fragment, with or without its `#`.
///
/// # Errors
/// What is wrong with the link, for its reader.
pub fn read(fragment: &str) -> Result<Vec<u8>, &'static str> {
    let fragment = fragment.strip_prefix('#').unwrap_or(fragment);
    if fragment.len() > LONGEST_READ {
        return Err(TOO_LONG);
    }
    let Some(letters) = fragment.strip_prefix(VERSION) else {
        return Err(
            "This link was made by a newer version of this page. Open it there, or ask for the file.",
        );
    };
    let mut out = Vec::with_capacity(letters.len() / 4 * 3 + 2);
    for four in letters.as_bytes().chunks(4) {
        let mut bits = 0;
        for (place, letter) in four.iter().enumerate() {
            let value = ALPHABET.iter().position(|known| known == letter);
            bits |= value.ok_or(BROKEN)? << (18 - 6 * place);
        }
        let [_, high, middle, low] = u32::try_from(bits).unwrap_or(0).to_be_bytes();
        match four.len() {
            4 => out.extend([high, middle, low]),
            3 if low == 0 => out.extend([high, middle]),
            2 if low == 0 && middle == 0 => out.push(high),
            // One letter alone, or bits that nobody has written.
            _ => return Err(BROKEN),
        }
    }
    if out.is_empty() {
        return Err(BROKEN);
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_come_back() {
        let bytes: Vec<u8> = (0..=255).chain([0, 255, 0]).collect();
        for length in 1..bytes.len() {
            let link = write(&bytes[..length]);
            assert!(link.starts_with("1.") && is_packed(&link));
            assert_eq!(read(&link).unwrap(), &bytes[..length]);
            assert_eq!(read(&format!("#{link}")).unwrap(), &bytes[..length]);
        }
        // RFC 4648, section 10 (from memory): "foobar" is "Zm9vYmFy", "fooba" is "Zm9vYmE=".
        assert_eq!(write(b"foobar"), "1.Zm9vYmFy");
        assert_eq!(write(b"fooba"), "1.Zm9vYmE");
    }

    #[test]
    fn links_cut_or_changed_say_so() {
        for (link, word) in [
            ("1.", "broken"),
            ("1.A", "broken"),
            ("1.Zm9vYmF!", "broken"),
            ("1.Zm9vYmF", "broken"),
            ("1.<script>", "broken"),
            ("1.é", "broken"),
            ("2.Zm9v", "newer"),
        ] {
            assert!(read(link).unwrap_err().contains(word), "{link}");
        }
        let long = format!("1.{}", "A".repeat(LONGEST_READ));
        assert!(read(&long).unwrap_err().contains("more than"));
    }

    #[test]
    fn other_addresses_are_told_apart() {
        for packed in ["1.", "#1.Zg", "12.x"] {
            assert!(is_packed(packed), "{packed}");
        }
        for other in [
            "",
            "#",
            "equation=y%27+%3D+1.5",
            "#.x",
            "1",
            "x1.",
            "#equation=1.",
        ] {
            assert!(!is_packed(other), "{other}");
        }
    }

    /// Every link that was ever made opens the same worksheet for ever.
    #[test]
    fn links_of_all_times_are_read() {
        let kept = include_str!("../../tests/browser/links.txt");
        let mut packed = 0;
        for line in kept
            .lines()
            .filter(|line| !line.starts_with('#') && !line.is_empty())
        {
            let (link, expected) = line.split_once(' ').unwrap();
            if is_packed(link) {
                packed += 1;
                let text = miniz_oxide::inflate::decompress_to_vec(&read(link).unwrap()).unwrap();
                let text = String::from_utf8(text).unwrap();
                assert_eq!(text.replace('\n', "\\n"), expected);
            } else {
                assert!(crate::address::decode(link).is_some(), "{link}");
            }
        }
        assert!(packed >= 3, "{packed}");
    }
}
