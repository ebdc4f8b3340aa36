//! Digests of files, and the letters that they are written in.

use sha2::{Digest, Sha256};

/// A digest as content-security policies and requests name it: `sha256-…`.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    format!("sha256-{}", base64(&Sha256::digest(bytes)))
}

/// Base 64 with padding (RFC 4648, section 4).
pub(crate) fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |at: usize| three.get(at).copied().map_or(0, usize::from);
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            let letter = LETTERS.get(bits >> (18 - 6 * place) & 63).copied();
            let letter = letter.filter(|_| place <= three.len());
            out.push(char::from(letter.unwrap_or(b'=')));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digests_and_letters_are_the_standard_ones() {
        // RFC 4648, section 10 (from memory).
        for (text, letters) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
        ] {
            assert_eq!(base64(text.as_bytes()), letters);
        }
        // Of the empty text (FIPS 180-4's function; the value from memory).
        assert_eq!(
            sha256(b""),
            "sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU="
        );
    }
}
