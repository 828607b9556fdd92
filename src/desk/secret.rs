//! Secrets of 128 random bits from the system, and their comparison in constant time.

use coilwright::{Error, Result};
use sha2::{Digest, Sha256};

/// A secret of 128 random bits.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret([u8; 16]);

impl Secret {
    /// Makes a new secret.
    ///
    /// # Errors
    /// If the system supplies no random numbers.
    pub fn new() -> Result<Self> {
        let mut bits = [0; 16];
        getrandom::fill(&mut bits).map_err(|_| Error::Usage {
            message: "the system gives no random numbers, and without them the desk would be open to anybody"
                .into(),
            hint: None,
        })?;
        Ok(Self(bits))
    }

    /// The secret as 32 hexadecimal digits.
    pub fn text(&self) -> String {
        hex(&self.0)
    }

    /// The secret that these 32 hexadecimal digits stand for. `None` if they are none.
    pub fn said(text: &str) -> Option<Self> {
        let is_hex = text.len() == 32 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
        let mut bits = [0; 16];
        for (place, byte) in bits.iter_mut().enumerate().filter(|_| is_hex) {
            *byte = u8::from_str_radix(&text[2 * place..2 * place + 2], 16).ok()?;
        }
        is_hex.then_some(Self(bits))
    }

    /// Proof that whoever wrote `message` knows the secret: the first 128 bits of HMAC-SHA-256 (RFC 2104).
    pub fn proof(&self, message: &str) -> String {
        let padded = |with: u8| {
            let mut block = [with; 64];
            block.iter_mut().zip(self.0).for_each(|(byte, secret)| *byte ^= secret);
            block
        };
        let inner = Sha256::new().chain_update(padded(0x36)).chain_update(message).finalize();
        let outer = Sha256::new().chain_update(padded(0x5c)).chain_update(inner).finalize();
        hex(&outer[..16])
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Whether two texts are equal. The time taken does not reveal where they differ.
pub fn same(one: &str, other: &str) -> bool {
    one.len() == other.len() && one.bytes().zip(other.bytes()).fold(0, |seen, (a, b)| seen | (a ^ b)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_proof_is_hmac_sha_256() {
        // From Python's hmac module:
        // hmac.new(bytes(range(16)), b"desk", "sha256").hexdigest()[:32]
        let mut bits = [0; 16];
        (0..16).for_each(|place| bits[place as usize] = place);
        assert_eq!(Secret(bits).proof("desk"), "71514a2810c693e220b70459a03bb97c");
    }

    #[test]
    fn texts_are_the_same_only_as_a_whole() {
        assert!(same("", "") && same("0af", "0af"));
        assert!(!same("0af", "0ae") && !same("0af", "0a") && !same("", "0"));
        assert_ne!(Secret::new().unwrap().text(), Secret::new().unwrap().text());
        let secret = Secret::new().unwrap();
        assert!(Secret::said(&secret.text()).is_some_and(|said| said == secret));
        assert!(Secret::said("0af").is_none() && Secret::said(&"ü".repeat(16)).is_none());
    }
}
