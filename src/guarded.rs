//! Work in which a fault of the program is caught and becomes words.

use std::panic::{AssertUnwindSafe, catch_unwind};

/// What work gives, or what was said as it broke off.
///
/// # Errors
/// When it panicked.
pub(crate) fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|payload| {
        payload
            .downcast_ref::<String>()
            .cloned()
            .or_else(|| payload.downcast_ref::<&str>().map(|&text| text.to_owned()))
            .unwrap_or_else(|| "no text".to_owned())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_breaks_off_says_why() {
        assert_eq!(guarded(|| 3), Ok(3));
        let plain = guarded(|| -> u8 { panic!("no mortar") });
        assert_eq!(plain, Err("no mortar".to_owned()));
        let written = guarded(|| -> u8 { panic!("no {}", "mortar") });
        assert_eq!(written, Err("no mortar".to_owned()));
        let other = guarded(|| -> u8 { std::panic::panic_any(3) });
        assert_eq!(other, Err("no text".to_owned()));
    }
}
