//! Whether long work is asked to stop: by a person, or because its time is over.
//!
//! What may take long asks [`asked`] now and then, a few milliseconds of work apart, and ends with an error when it is.
//! Whoever starts such work says by [`watched`] whom to ask; in work that nobody watches, nobody asks it to stop.

use std::cell::RefCell;
use std::rc::Rc;

/// Why work is to stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// The person who waits for it interrupted it.
    Interrupted,
    /// It took longer than it may.
    Time,
}

type Asks = Rc<dyn Fn() -> Option<Reason>>;

thread_local! {
    static ASKS: RefCell<Option<Asks>> = const { RefCell::new(None) };
}

/// Puts back who was asked before, whatever became of the work.
struct Before(Option<Asks>);

impl Drop for Before {
    fn drop(&mut self) {
        let before = self.0.take();
        ASKS.with_borrow_mut(|asks| *asks = before);
    }
}

/// Does work on this thread that stops when it is asked to.
pub fn watched<T>(asks: impl Fn() -> Option<Reason> + 'static, work: impl FnOnce() -> T) -> T {
    let asks: Asks = Rc::new(asks);
    let _before = Before(ASKS.with_borrow_mut(|known| known.replace(asks)));
    work()
}

/// Why the work that is being done is to stop; none while it may go on.
pub fn asked() -> Option<Reason> {
    // What is asked may itself do work: nothing stays borrowed meanwhile.
    let asks = ASKS.with_borrow(Clone::clone)?;
    asks()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_watched_work_is_asked_to_stop() {
        assert_eq!(asked(), None);
        let inner = watched(|| Some(Reason::Time), || (watched(|| None, asked), asked()));
        assert_eq!(inner, (None, Some(Reason::Time)));
        assert_eq!(asked(), None);
    }

    #[test]
    fn who_was_asked_before_is_put_back_after_a_panic() {
        let fault = std::panic::catch_unwind(|| {
            watched(
                || Some(Reason::Interrupted),
                || panic!("the work broke off"),
            );
        });
        assert!(fault.is_err());
        assert_eq!(asked(), None);
    }
}
