//! Codes and tokens: what one types at the tablet, what the tablet carries, what the terminal prints.
use argon2::{
    Algorithm, Argon2, Params, Version,
    password_hash::{PasswordHasher, PasswordVerifier, phc::PasswordHash},
};
use sha2::{Digest, Sha256};

/// A code is at least this many digits.
pub const SHORTEST: usize = 6;

/// How hard it is to try a code out.
#[derive(Debug, Clone)]
pub struct Codes(Argon2<'static>);

impl Codes {
    /// For the shop: Argon2id with the crate's default cost (OWASP's first choice at the time of writing).
    pub fn strong() -> Self {
        Self(Argon2::default())
    }

    /// For tests only: the least that Argon2 takes, so that they do not spend their time on hashing.
    pub fn cheap() -> Self {
        Self(Argon2::new(
            Algorithm::Argon2id,
            Version::V0x13,
            Params::new(Params::MIN_M_COST, 1, 1, None).unwrap_or_default(),
        ))
    }

    /// The hash of a code, or why it is none.
    pub fn hash(&self, code: &str) -> Result<String, String> {
        if code.len() < SHORTEST || !code.chars().all(|c| c.is_ascii_digit()) {
            return Err(format!("A code needs {SHORTEST} digits or more."));
        }
        if code.chars().all(|c| code.starts_with(c))
            || "01234567890".contains(code)
            || "09876543210".contains(code)
        {
            return Err("That code is too easy to guess. Choose another.".into());
        }
        self.0
            .hash_password(code.as_bytes())
            .map(|h| h.to_string())
            .map_err(|e| format!("The code could not be hashed: {e}."))
    }

    /// Whether the code is the one that was hashed.
    pub fn fits(&self, code: &str, hash: &str) -> bool {
        PasswordHash::new(hash)
            .is_ok_and(|hash| self.0.verify_password(code.as_bytes(), &hash).is_ok())
    }
}

/// A token that nobody guesses: 32 random bytes as hexadecimal.
pub fn token() -> String {
    hex::encode(rand::random::<[u8; 32]>())
}

/// A one-time code that a person copies from one screen to another: 10 letters and digits without look-alikes, in two groups.
pub fn one_time() -> String {
    const LETTERS: &[u8; 30] = b"ABCDEFGHJKMNPQRSTVWXYZ23456789";
    let pick: String = (0..10)
        .map(|_| char::from(LETTERS[rand::random_range(0..LETTERS.len())]))
        .collect();
    format!("{}-{}", &pick[..5], &pick[5..])
}

/// What a person copied, brought back to the form in which it was made.
pub fn tidy_one_time(typed: &str) -> String {
    let clean: String = typed
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .collect::<String>()
        .to_uppercase();
    if clean.len() == 10 {
        format!("{}-{}", &clean[..5], &clean[5..])
    } else {
        clean
    }
}

/// SHA-256: how tokens and one-time codes are kept.
pub fn hashed(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_six_digits_that_are_not_guessed_first() {
        let codes = Codes::cheap();
        for bad in ["12345", "abcdef", "111111", "123456", "987654", ""] {
            assert!(codes.hash(bad).is_err(), "{bad}");
        }
        let hash = codes.hash("480213").expect("a good code");
        assert!(codes.fits("480213", &hash));
        assert!(!codes.fits("480214", &hash));
        assert!(!codes.fits("480213", "no hash"));
    }

    #[test]
    fn a_one_time_code_survives_copying() {
        let code = one_time();
        assert_eq!(tidy_one_time(&code.to_lowercase().replace('-', " ")), code);
    }
}
