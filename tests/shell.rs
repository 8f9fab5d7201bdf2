//! The shell as it is used: the real program in a pseudo-terminal.
//!
//! Nothing here depends on how fast it answers; a shell that does not answer at all fails after [`PATIENCE`].
#![allow(clippy::unwrap_used)] // A helper that cannot go on fails the test.
#![cfg(unix)]

use std::io::{Read, Write};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// What the editor asks once per input, when it is ready for keys.
const WHERE_IS_THE_CURSOR: &str = "\x1b[6n";
/// Far longer than any answer takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_mins(2);

/// Width of the window, where nothing depends on it.
const COLUMNS: u16 = 120;

type Output = Arc<(Mutex<Vec<u8>>, Condvar)>;
type Keys = Arc<Mutex<Box<dyn Write + Send>>>;

struct Shell {
    child: Box<dyn Child + Send + Sync>,
    keys: Keys,
    output: Output,
    /// How much of the output was already looked at.
    seen: usize,
    /// Held open: the shell would see the terminal go away.
    _terminal: Box<dyn MasterPty + Send>,
    home: std::path::PathBuf,
}

impl Shell {
    fn open(name: &str) -> Self {
        Self::open_as(name, COLUMNS, false)
    }

    /// In a window of so many columns, with colours or without.
    fn open_as(name: &str, columns: u16, colours: bool) -> Self {
        let home =
            std::env::temp_dir().join(format!("perpend-shell-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&home).unwrap();
        Self::open_in(home, columns, colours)
    }

    /// Leaves, and comes back to the same folders.
    fn reopened(mut self) -> Self {
        self.ready();
        self.press("\x04");
        assert_eq!(self.exit_code(), 0);
        let home = std::mem::take(&mut self.home);
        Self::open_in(home, COLUMNS, false)
    }

    fn open_in(home: std::path::PathBuf, columns: u16, colours: bool) -> Self {
        let pair = native_pty_system()
            .openpty(PtySize {
                rows: 40,
                cols: columns,
                pixel_width: 0,
                pixel_height: 0,
            })
            .unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_perpend"));
        command.env("TERM", "xterm");
        if colours {
            command.env_remove("NO_COLOR");
        } else {
            command.env("NO_COLOR", "1");
        }
        command.env("LC_ALL", "C.UTF-8");
        command.env("HOME", &home);
        command.env("XDG_STATE_HOME", home.join("state"));
        command.env("XDG_DATA_HOME", home.join("data"));
        command.cwd(&home);
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let keys: Keys = Arc::new(Mutex::new(pair.master.take_writer().unwrap()));
        let output = Output::default();
        read_on(
            pair.master.try_clone_reader().unwrap(),
            Arc::clone(&keys),
            Arc::clone(&output),
        );
        let mut shell = Self {
            child,
            keys,
            output,
            seen: 0,
            _terminal: pair.master,
            home,
        };
        shell.expect("help()");
        shell
    }

    /// Whether anything that was written sets a colour or a weight of letters.
    fn is_coloured(&self) -> bool {
        let output = self.output.0.lock().unwrap();
        let text = String::from_utf8_lossy(&output).into_owned();
        text.split("\x1b[").skip(1).any(|rest| {
            let end = rest.find(|c: char| c.is_ascii_alphabetic());
            let sets = end.is_some_and(|end| rest.get(end..=end) == Some("m"));
            // Back to the usual letters, as after every input.
            let plain = ["", "0", "39", "49"];
            sets && rest
                .get(..end.unwrap_or(0))
                .is_some_and(|codes| !codes.split(';').all(|code| plain.contains(&code)))
        })
    }

    fn press(&self, keys: &str) {
        let mut writer = self.keys.lock().unwrap();
        writer.write_all(keys.as_bytes()).unwrap();
        writer.flush().unwrap();
    }

    /// Waits for the editor, so that no key comes before it listens.
    fn ready(&mut self) {
        self.expect(WHERE_IS_THE_CURSOR);
    }

    /// Types a line at the next prompt.
    fn enter(&mut self, line: &str) {
        self.ready();
        self.press(&format!("{line}\r"));
    }

    /// Waits until a text shows up after what was last waited for.
    fn expect(&mut self, text: &str) {
        let until = Instant::now() + PATIENCE;
        let (lock, changed) = &*self.output;
        let mut output = lock.lock().unwrap();
        loop {
            let fresh = String::from_utf8_lossy(output.get(self.seen..).unwrap()).into_owned();
            if let Some(at) = fresh.find(text) {
                self.seen += at + text.len();
                return;
            }
            let left = until.saturating_duration_since(Instant::now());
            assert!(!left.is_zero(), "no {text:?} in: {fresh:?}");
            output = changed.wait_timeout(output, left).unwrap().0;
        }
    }

    fn exit_code(&mut self) -> u32 {
        let until = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.exit_code();
            }
            assert!(Instant::now() < until, "the shell does not leave");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Shell {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        if !self.home.as_os_str().is_empty() {
            let _ = std::fs::remove_dir_all(&self.home);
        }
    }
}

/// Collects what the shell writes, and answers its question where the cursor is, as a terminal does.
fn read_on(mut reader: Box<dyn Read + Send>, keys: Keys, output: Output) {
    std::thread::spawn(move || {
        let (mut buffer, mut answered) = ([0; 4096], 0);
        while let Ok(count @ 1..) = reader.read(&mut buffer) {
            let (lock, changed) = &*output;
            let mut all = lock.lock().unwrap();
            all.extend_from_slice(buffer.get(..count).unwrap_or_default());
            let asked = all
                .windows(WHERE_IS_THE_CURSOR.len())
                .filter(|bytes| *bytes == WHERE_IS_THE_CURSOR.as_bytes())
                .count();
            drop(all);
            changed.notify_all();
            for _ in answered..asked {
                let mut keys = keys.lock().unwrap();
                let _ = keys.write_all(b"\x1b[1;1R").and_then(|()| keys.flush());
            }
            answered = asked;
        }
    });
}

#[test]
fn a_definition_survives_a_mistake() {
    let mut shell = Shell::open("mistake");
    shell.enter("let brick = 215.mm;");
    shell.enter("brick + 1");
    shell.expect("error[");
    shell.enter("brick * 3");
    shell.expect("645 mm");
    shell.enter("brick = chamber(#{ outsied: 4 });");
    shell.expect("did you mean `outside`?");
    shell.enter("brick * 5");
    shell.expect("1075 mm");
}

#[test]
fn an_unfinished_input_goes_on_in_the_next_line() {
    let mut shell = Shell::open("unfinished");
    shell.enter("let sizes = [");
    shell.expect("... ");
    shell.press("101.mm, 202.mm\r");
    shell.expect("... ");
    shell.press("];\r");
    shell.enter("sizes[0] + sizes[1]");
    shell.expect("303 mm");
}

#[test]
fn an_interrupt_stops_a_runaway_script_and_keeps_the_session() {
    let mut shell = Shell::open("interrupt");
    shell.enter("let brick = 215.mm;");
    shell.enter("print(\"under\" + \"way\"); loop {}");
    shell.expect("underway");
    shell.press("\x03");
    shell.expect("interrupted");
    shell.enter("brick * 3");
    shell.expect("645 mm");
    shell.ready();
    shell.press("\x04");
    assert_eq!(shell.exit_code(), 0);
}

#[test]
fn an_interrupt_at_the_prompt_drops_the_line_and_leaving_is_fine() {
    let mut shell = Shell::open("leave");
    shell.enter("let brick = 215.mm;");
    shell.ready();
    shell.press("brick = 1.mm\x03");
    shell.enter("brick * 3");
    shell.expect("645 mm");
    shell.ready();
    shell.press("\x04");
    assert_eq!(shell.exit_code(), 0);
}

#[test]
fn tab_completes_names_options_and_words() {
    let mut shell = Shell::open("tab");
    shell.ready();
    shell.press("let firebox = chamb\t(#{ outsi\t[4, 3], courses: 4 });\r");
    shell.enter("firebox");
    shell.expect("outside 4 units across");
    shell.ready();
    shell.press(
        "let q = plan(\"q\", #{ unit: \"uk\", bond: \"flemish g\t\" }).place(\"box\", firebox);\r",
    );
    shell.enter("q.inside(\"\t\")");
    shell.expect("across");
}

#[test]
fn pasted_lines_run_one_by_one_and_are_undone_together() {
    let mut shell = Shell::open("paste");
    shell.enter("let before = 7;");
    shell.ready();
    let lines: Vec<String> = (1..=20)
        .map(|n| format!("let pasted_{n} = {n}.mm"))
        .collect();
    shell.press(&format!("\x1b[200~{}\x1b[201~\r", lines.join("\r")));
    shell.enter("pasted_1 + pasted_20");
    shell.expect("21 mm");
    shell.enter("undo()");
    shell.expect("undone");
    shell.enter("pasted_3");
    shell.expect("error[unknown-name]");
    shell.enter("before * 6");
    shell.expect("42");
}

#[test]
fn history_is_found_again_after_leaving() {
    let mut shell = Shell::open("history");
    shell.enter("let lintel = 1215.mm;");
    shell.enter("1 + 1");
    let mut shell = shell.reopened();
    shell.ready();
    // Back through the history, twice.
    shell.press("\x1b[A\x1b[A\r");
    shell.enter("lintel * 2");
    shell.expect("2430 mm");
    // And by searching it.
    shell.ready();
    shell.press("\x12lint\r\r");
    shell.expect("2430 mm");
}

#[test]
fn a_followed_script_runs_again_when_it_changes() {
    let mut shell = Shell::open("follow");
    let file = shell.home.join("bed.rhai");
    std::fs::write(&file, "let wide = 3.m;\nwide").unwrap();
    shell.enter("follow(\"bed.rhai\")");
    shell.expect("3000 mm");
    shell.ready();
    std::fs::write(&file, "let wide = 4.m;\nwide + 1.mm").unwrap();
    shell.expect("bed.rhai has changed");
    shell.expect("4001 mm");
    shell.enter("wide * 2");
    shell.expect("8000 mm");
}

#[test]
fn a_hint_tells_the_call_that_is_written() {
    let mut shell = Shell::open("hint");
    shell.ready();
    shell.press("fit_height(");
    shell.expect("// fit_height(unit");
    shell.press("\x03");
    shell.enter("2 * 21");
    shell.expect("42");
}

#[test]
fn a_menu_lists_the_methods_of_the_value() {
    let mut shell = Shell::open("methods");
    shell.enter("let firebox = chamber(#{ outside: [4, 3], courses: 4 });");
    shell.ready();
    // The first is chosen, and so stands in capitals.
    shell.press("firebox.p\t");
    shell.expect("PARTITION");
    shell.expect("pier ");
    shell.press("\x03");
    shell.ready();
    // Only one method begins so.
    shell.press("firebox.openi\t");
    shell.expect("firebox.opening");
}

#[test]
fn options_of_an_imported_recipe_are_completed() {
    let mut shell = Shell::open("recipe");
    shell.enter("import \"raised_bed\" as bed;");
    shell.ready();
    shell.press("bed::build(#{ cours\t3 }).name\x03");
    shell.ready();
    shell.press("let b = bed::build(#{ cours\t3 });\r");
    shell.enter("b.courses(\"bed\") + 40");
    shell.expect("43");
}

#[test]
fn a_definition_of_twenty_lines_is_pasted_as_one() {
    let mut shell = Shell::open("paste-one");
    let lines: Vec<String> = (1..=18).map(|n| format!("    sum += {n};")).collect();
    let text = format!(
        "fn total() {{\r    let sum = 0;\r{}\r    sum\r}}",
        lines.join("\r")
    );
    shell.ready();
    shell.press(&format!("\x1b[200~{text}\x1b[201~\r"));
    shell.enter("total() * 2");
    shell.expect("342");
}

#[test]
fn a_narrow_window_is_enough() {
    let mut shell = Shell::open_as("narrow", 40, false);
    shell.enter("let firebox = chamber(#{ outside: [4, 3], courses: 9, fired: true });");
    shell.enter("plan(\"stove\", #{ unit: \"uk\" }).place(\"firebox\", firebox).height() * 3");
    shell.expect("2025 mm");
    shell.ready();
    // The first is chosen, and so stands in capitals.
    shell.press("firebox.p\t");
    shell.expect("PARTITION");
    shell.expect("pier ");
    shell.press("\x03");
    shell.enter("6 * 7");
    shell.expect("42");
}

#[test]
fn colours_are_left_out_where_they_are_not_wanted() {
    for colours in [true, false] {
        let mut shell = Shell::open_as(if colours { "colours" } else { "plain" }, COLUMNS, colours);
        shell.enter("let brick = 215.mm; // a remark");
        shell.enter("brick + 1");
        shell.expect("error[");
        shell.enter("brick * 3");
        shell.expect("645 mm");
        assert_eq!(shell.is_coloured(), colours);
    }
}
