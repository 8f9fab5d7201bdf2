//! Work on many things at once, whose results come out in order, whatever the number of threads.
//!
//! Things are prepared one by one, worked on in any order, and taken one by one in the order in which they were prepared.
//! No more than a window of them exists at a time, so memory does not grow with their number.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender, channel, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use crate::guarded::guarded;
use crate::plan::{allowing_pieces, most_pieces};
use crate::stop::{self, Reason};

/// Things in work, waiting or not yet taken, for each thread: enough that none waits for another. Our own choice.
const WINDOW_A_THREAD: usize = 16;
/// While this much of the window is in work, whoever takes results naps so long instead of waking up for each: waking costs
/// a worker its core. Well under the time that the work takes, so no worker waits.
const NAP: Duration = Duration::from_micros(500);
/// How long nobody looks whether to stop while no result comes: well under the time in which a person expects an answer.
const LOOK_EVERY: Duration = Duration::from_millis(10);

thread_local! {
    static AT_WORK: Cell<bool> = const { Cell::new(false) };
}

/// Who does the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Crew {
    /// Threads; with one, all is done on the thread that asks for it.
    pub threads: usize,
    /// Bytes of stack of each thread.
    pub stack: usize,
}

impl Crew {
    /// As many threads as there are cores.
    pub fn of_all_cores(stack: usize) -> Crew {
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        Crew { threads, stack }
    }
}

/// How work on many things ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ending {
    /// How many were taken, from the first on.
    pub done: usize,
    /// Why the rest was not; none when all were.
    pub stopped: Option<Reason>,
}

/// A result, or what a fault of the program in the work said.
pub type Worked<R> = Result<R, String>;

/// The steps of work on many things.
pub struct Steps<Hire, Prepare, Work, Take> {
    /// Makes what a worker works with, on the worker's thread. The flag is up once the work is to stop; there is none where
    /// all is done on the thread that asked for it.
    pub hire: Hire,
    /// Prepares a thing by its number.
    pub prepare: Prepare,
    /// Works on a thing.
    pub work: Work,
    /// Takes a result; numbers come in order.
    pub take: Take,
}

/// Works on `count` things.
///
/// # Errors
/// What preparing and taking refuse; the rest of the work is given up.
pub fn in_order<J, R, W, E>(
    count: usize,
    crew: Crew,
    steps: Steps<
        impl Fn(Option<&Arc<AtomicBool>>) -> W + Sync,
        impl FnMut(usize) -> Result<J, E>,
        impl Fn(&mut W, J) -> R + Sync,
        impl FnMut(usize, Worked<R>) -> Result<(), E>,
    >,
) -> Result<Ending, E>
where
    J: Send,
    R: Send,
{
    // Work within work has all cores busy already.
    if crew.threads <= 1 || count <= 1 || AT_WORK.get() {
        return alone(count, steps);
    }
    let Steps {
        hire,
        prepare,
        work,
        take,
    } = steps;
    let halt = Arc::new(AtomicBool::new(false));
    let most = most_pieces();
    std::thread::scope(|scope| {
        let window = crew.threads * WINDOW_A_THREAD;
        let (jobs, to_do) = sync_channel::<(usize, J)>(window);
        let (results, done) = channel::<(usize, Worked<R>)>();
        let to_do = Arc::new(Mutex::new(to_do));
        for _ in 0..crew.threads {
            let (to_do, results, halt) = (Arc::clone(&to_do), results.clone(), Arc::clone(&halt));
            let (hire, work) = (&hire, &work);
            // A thread that cannot be had leaves its share to the others.
            let _ = std::thread::Builder::new()
                .stack_size(crew.stack)
                .spawn_scoped(scope, move || {
                    allowing_pieces(most, || serve(&to_do, &results, &halt, hire, work));
                });
        }
        drop((results, to_do));
        let counter = Counter {
            count,
            window,
            jobs,
            done,
        };
        let ending = counter.run(prepare, take);
        halt.store(true, Ordering::Relaxed);
        ending
    })
}

/// One thread: works until nothing is left to do.
fn serve<J, R, W>(
    to_do: &Mutex<Receiver<(usize, J)>>,
    results: &Sender<(usize, Worked<R>)>,
    halt: &Arc<AtomicBool>,
    hire: &(impl Fn(Option<&Arc<AtomicBool>>) -> W + Sync),
    work: &(impl Fn(&mut W, J) -> R + Sync),
) {
    let asked = Arc::clone(halt);
    let asks = move || asked.load(Ordering::Relaxed).then_some(Reason::Interrupted);
    AT_WORK.set(true);
    stop::watched(asks, || {
        let mut worker = hire(Some(halt));
        loop {
            let next = to_do.lock().unwrap_or_else(PoisonError::into_inner).recv();
            let Ok((number, job)) = next else {
                return;
            };
            if halt.load(Ordering::Relaxed) {
                return;
            }
            let result = guarded(|| work(&mut worker, job));
            if results.send((number, result)).is_err() {
                return;
            }
        }
    });
}

/// The side of the work that hands out and takes in.
struct Counter<J, R> {
    count: usize,
    window: usize,
    jobs: SyncSender<(usize, J)>,
    done: Receiver<(usize, Worked<R>)>,
}

impl<J, R> Counter<J, R> {
    fn run<E>(
        self,
        mut prepare: impl FnMut(usize) -> Result<J, E>,
        mut take: impl FnMut(usize, Worked<R>) -> Result<(), E>,
    ) -> Result<Ending, E> {
        let (mut handed, mut taken) = (0, 0);
        let mut early = BTreeMap::new();
        while taken < self.count {
            if let Some(reason) = stop::asked() {
                return Ok(Ending {
                    done: taken,
                    stopped: Some(reason),
                });
            }
            while handed < self.count && handed - taken < self.window {
                if self.jobs.send((handed, prepare(handed)?)).is_err() {
                    break;
                }
                handed += 1;
            }
            match self.done.recv_timeout(LOOK_EVERY) {
                Ok((number, result)) => {
                    early.insert(number, result);
                }
                Err(RecvTimeoutError::Timeout) => continue,
                // No thread is left: none could be had.
                Err(RecvTimeoutError::Disconnected) => {
                    return Ok(Ending {
                        done: taken,
                        stopped: Some(Reason::Interrupted),
                    });
                }
            }
            early.extend(self.done.try_iter());
            while let Some(result) = early.remove(&taken) {
                take(taken, result)?;
                taken += 1;
                // What is asked of a result may run for long, or be what is interrupted.
                if stop::asked().is_some() {
                    break;
                }
            }
            if handed < self.count && (handed - taken) * 2 > self.window {
                std::thread::sleep(NAP);
            }
        }
        Ok(Ending {
            done: taken,
            stopped: None,
        })
    }
}

/// All work on this thread.
fn alone<J, R, W, E>(
    count: usize,
    steps: Steps<
        impl Fn(Option<&Arc<AtomicBool>>) -> W,
        impl FnMut(usize) -> Result<J, E>,
        impl Fn(&mut W, J) -> R,
        impl FnMut(usize, Worked<R>) -> Result<(), E>,
    >,
) -> Result<Ending, E> {
    let Steps {
        hire,
        mut prepare,
        work,
        mut take,
    } = steps;
    let mut worker = hire(None);
    for number in 0..count {
        let job = prepare(number)?;
        let result = guarded(|| work(&mut worker, job));
        // What was stopped half-way is no result.
        if let Some(reason) = stop::asked() {
            return Ok(Ending {
                done: number,
                stopped: Some(reason),
            });
        }
        take(number, result)?;
    }
    Ok(Ending {
        done: count,
        stopped: None,
    })
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicUsize;

    use super::*;

    fn squares(count: usize, threads: usize) -> (Vec<(usize, Worked<usize>)>, Ending) {
        let mut taken = Vec::new();
        let crew = Crew {
            threads,
            stack: 256 * 1024,
        };
        let steps = Steps {
            hire: |_: Option<&Arc<AtomicBool>>| (),
            prepare: Ok::<usize, ()>,
            work: |(): &mut (), number: usize| {
                assert!(number != 13, "unlucky");
                // Later numbers are quicker, so that results come out of turn.
                std::thread::sleep(Duration::from_micros(200 / (number as u64 + 1)));
                number * number
            },
            take: |number, result| {
                taken.push((number, result));
                Ok(())
            },
        };
        let ending = in_order(count, crew, steps).unwrap();
        (taken, ending)
    }

    #[test]
    fn results_are_the_same_and_in_order_for_any_number_of_threads() {
        let alone = squares(200, 1);
        assert_eq!(alone.1.done, 200);
        assert_eq!(alone.0[12], (12, Ok(144)));
        assert_eq!(alone.0[13].1.as_ref().unwrap_err(), "unlucky");
        for threads in [2, 3, 7] {
            assert_eq!(squares(200, threads), alone, "{threads} threads");
        }
    }

    #[test]
    fn no_more_than_a_window_is_prepared_ahead() {
        let most = AtomicUsize::new(0);
        let taken = AtomicUsize::new(0);
        let crew = Crew {
            threads: 2,
            stack: 256 * 1024,
        };
        let steps = Steps {
            hire: |_: Option<&Arc<AtomicBool>>| (),
            prepare: |number: usize| {
                most.fetch_max(number - taken.load(Ordering::Relaxed), Ordering::Relaxed);
                Ok::<usize, ()>(number)
            },
            work: |(): &mut (), number| number,
            take: |_, _| {
                taken.fetch_add(1, Ordering::Relaxed);
                Ok(())
            },
        };
        in_order(1_000, crew, steps).unwrap();
        assert!(most.into_inner() < 2 * WINDOW_A_THREAD);
    }

    #[test]
    fn what_is_done_when_the_work_is_stopped_is_kept() {
        for threads in [1, 2] {
            let crew = Crew {
                threads,
                stack: 256 * 1024,
            };
            let halt = std::rc::Rc::new(std::cell::Cell::new(false));
            let mut taken = 0;
            let asked = std::rc::Rc::clone(&halt);
            let ending = stop::watched(
                move || asked.get().then_some(Reason::Interrupted),
                || {
                    let steps = Steps {
                        hire: |_: Option<&Arc<AtomicBool>>| (),
                        prepare: Ok::<usize, ()>,
                        work: |(): &mut (), number| number,
                        take: |number, _| {
                            taken += 1;
                            halt.set(number >= 40);
                            Ok(())
                        },
                    };
                    in_order(1_000_000, crew, steps).unwrap()
                },
            );
            assert_eq!(ending.stopped, Some(Reason::Interrupted));
            assert_eq!(ending.done, taken);
            assert!((41..1_000).contains(&taken), "{taken}");
        }
    }

    #[test]
    fn what_is_refused_ends_the_work() {
        for threads in [1, 2] {
            let crew = Crew {
                threads,
                stack: 256 * 1024,
            };
            let steps = Steps {
                hire: |_: Option<&Arc<AtomicBool>>| (),
                prepare: |number: usize| if number < 30 { Ok(number) } else { Err("no") },
                work: |(): &mut (), number| number,
                take: |_, _| Ok(()),
            };
            assert_eq!(in_order(100, crew, steps), Err("no"));
        }
    }
}
