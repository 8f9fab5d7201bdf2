//! Everything outside the program: scripts on disk, the output folder, the terminal.
//!
//! One small trait, so that the shell, the command line and the tests share one core. No script
//! reaches past it.

use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs;
use std::io::{IsTerminal, Read, Write};
use std::path::{Component, Path, PathBuf};
use std::rc::Rc;

/// Columns assumed where no terminal says how wide it is.
pub const WIDTH_ASSUMED: usize = 80;
/// Narrowest width that tables are asked to fit.
pub const WIDTH_LEAST: usize = 40;
/// Largest script that is read, in bytes: larger is a mistake, not a script.
pub const SCRIPT_BYTES_MOST: u64 = 4 * 1024 * 1024;

/// Columns that are wiped of what told how far work had come.
const PROGRESS_COLUMNS: usize = 39;

/// What went wrong outside, said for people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutsideError {
    /// What happened.
    pub message: String,
    /// What to do about it.
    pub remedy: String,
}

impl OutsideError {
    /// An error with its remedy.
    pub fn new(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            remedy: remedy.into(),
        }
    }
}

impl fmt::Display for OutsideError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.remedy)
    }
}

impl std::error::Error for OutsideError {}

/// Makes a world outside on the thread that it is called on.
pub type Elsewhere = Box<dyn Fn() -> Rc<dyn Outside> + Send + Sync>;

/// The world outside, as far as the program may touch it.
pub trait Outside {
    /// Reads a script.
    ///
    /// # Errors
    /// When the file is absent, unreadable, too large or not text.
    fn read_script(&self, path: &Path) -> Result<String, OutsideError>;
    /// Whether a script is there.
    fn exists(&self, path: &Path) -> bool;
    /// Names (without `.rhai`) of the scripts in a folder, sorted.
    fn scripts_in(&self, folder: &Path) -> Vec<String>;
    /// Prints one text and a line end to the result stream.
    fn print(&self, text: &str);
    /// Prints one text and a line end to the stream for messages.
    fn report(&self, text: &str);
    /// Writes a file into the output folder, whole or not at all, and says where it went.
    ///
    /// # Errors
    /// When the name leads out of the folder, or the disk refuses.
    fn write_file(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError>;
    /// The folder of the user's own recipes.
    fn recipe_folder(&self) -> Option<PathBuf>;
    /// Writes a file into the folder of the user's own recipes, whole or not at all, and says where it went.
    ///
    /// # Errors
    /// When there is no such folder, the name leads out of it, or the disk refuses.
    fn write_recipe(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError>;
    /// The folder that keeps the shell's history.
    fn state_folder(&self) -> Option<PathBuf>;
    /// Reads a text below the output folder, where scripts write too.
    ///
    /// # Errors
    /// When the name leads out of the folder, or the file cannot be read.
    fn read_file(&self, name: &str) -> Result<String, OutsideError>;
    /// Columns that tables and pictures may use.
    fn width(&self) -> usize;
    /// Whether results go to a terminal.
    fn is_terminal(&self) -> bool;
    /// Prints a result for another program: not a letter of it is changed.
    fn print_data(&self, text: &str) {
        self.print(text);
    }
    /// The same world for other threads, where it only reads: nothing is printed or written there.
    fn elsewhere(&self) -> Elsewhere;
    /// Tells a person who looks on how far long work has come; with all of it done nothing is told any more.
    fn progress(&self, _done: usize, _of: usize) {}
    /// Whether only ASCII can be shown.
    fn plain_letters(&self) -> bool {
        false
    }
}

/// Another outside that is only read.
struct ReadOnly<O>(O);

impl<O: Outside> Outside for ReadOnly<O> {
    fn read_script(&self, path: &Path) -> Result<String, OutsideError> {
        self.0.read_script(path)
    }

    fn exists(&self, path: &Path) -> bool {
        self.0.exists(path)
    }

    fn scripts_in(&self, folder: &Path) -> Vec<String> {
        self.0.scripts_in(folder)
    }

    fn print(&self, _text: &str) {}

    fn report(&self, _text: &str) {}

    fn write_file(&self, name: &str, _bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        Err(OutsideError::new(
            format!("`{name}` is not written: variants that are compared write no files"),
            "write files from the plan that you choose",
        ))
    }

    fn write_recipe(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        self.write_file(name, bytes)
    }

    fn recipe_folder(&self) -> Option<PathBuf> {
        self.0.recipe_folder()
    }

    fn state_folder(&self) -> Option<PathBuf> {
        None
    }

    fn read_file(&self, name: &str) -> Result<String, OutsideError> {
        self.0.read_file(name)
    }

    fn width(&self) -> usize {
        self.0.width()
    }

    fn is_terminal(&self) -> bool {
        false
    }

    fn elsewhere(&self) -> Elsewhere {
        self.0.elsewhere()
    }
}

/// Another outside, whose scripts print beside the result instead of into it.
pub struct Aside {
    inner: Rc<dyn Outside>,
    drop: bool,
}

impl Aside {
    /// What scripts print goes to the stream for messages.
    pub fn reporting(inner: Rc<dyn Outside>) -> Self {
        Self { inner, drop: false }
    }

    /// What scripts print is left out.
    pub fn silent(inner: Rc<dyn Outside>) -> Self {
        Self { inner, drop: true }
    }
}

impl Outside for Aside {
    fn read_script(&self, path: &Path) -> Result<String, OutsideError> {
        self.inner.read_script(path)
    }

    fn exists(&self, path: &Path) -> bool {
        self.inner.exists(path)
    }

    fn scripts_in(&self, folder: &Path) -> Vec<String> {
        self.inner.scripts_in(folder)
    }

    fn print(&self, text: &str) {
        if !self.drop {
            self.inner.report(text);
        }
    }

    fn report(&self, text: &str) {
        self.inner.report(text);
    }

    fn write_file(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        self.inner.write_file(name, bytes)
    }

    fn read_file(&self, name: &str) -> Result<String, OutsideError> {
        self.inner.read_file(name)
    }

    fn recipe_folder(&self) -> Option<PathBuf> {
        self.inner.recipe_folder()
    }

    fn write_recipe(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        self.inner.write_recipe(name, bytes)
    }

    fn state_folder(&self) -> Option<PathBuf> {
        self.inner.state_folder()
    }

    fn width(&self) -> usize {
        self.inner.width()
    }

    fn is_terminal(&self) -> bool {
        self.inner.is_terminal()
    }

    fn elsewhere(&self) -> Elsewhere {
        self.inner.elsewhere()
    }

    fn progress(&self, done: usize, of: usize) {
        self.inner.progress(done, of);
    }

    fn plain_letters(&self) -> bool {
        self.inner.plain_letters()
    }
}

/// Splits a file name from a script into its parts, refusing every way out of the folder.
///
/// # Errors
/// When the name is empty, absolute, holds `..` or a part that starts with a dot.
pub fn inner_path(name: &str) -> Result<PathBuf, OutsideError> {
    let refuse = |why: &str| {
        Err(OutsideError::new(
            format!("`{name}` {why}"),
            "give a plain name, or a name in a folder below: \"plan.svg\", \"drawings/front.svg\"",
        ))
    };
    if name.trim().is_empty() {
        return refuse("is no file name");
    }
    if name
        .chars()
        .any(|c| c.is_control() || matches!(c, '\\' | ':'))
    {
        return refuse("holds a character that file names do not take");
    }
    let mut path = PathBuf::new();
    for part in Path::new(name).components() {
        match part {
            Component::Normal(word) if word.to_string_lossy().starts_with('.') => {
                return refuse("has a part that starts with a dot");
            }
            Component::Normal(word) => path.push(word),
            Component::CurDir => {}
            Component::ParentDir | Component::RootDir | Component::Prefix(_) => {
                return refuse("leads out of the folder");
            }
        }
    }
    if path.as_os_str().is_empty() || name.ends_with('/') {
        return refuse("names a folder, not a file");
    }
    Ok(path)
}

/// The real disk and terminal.
#[derive(Debug, Clone)]
pub struct RealOutside {
    output: PathBuf,
    recipes: Option<PathBuf>,
    state: Option<PathBuf>,
    width: Option<usize>,
    plain: bool,
}

impl RealOutside {
    /// Writes go below `output`.
    pub fn new(output: impl Into<PathBuf>) -> Self {
        Self {
            output: output.into(),
            recipes: None,
            state: None,
            width: None,
            plain: false,
        }
    }

    /// Shows ASCII alone where `plain` is set.
    #[must_use]
    pub fn with_plain_letters(mut self, plain: bool) -> Self {
        self.plain = plain;
        self
    }

    fn output_folder(&self) -> Below<'_> {
        Below {
            folder: &self.output,
            called: "output folder",
        }
    }

    /// What is shown of a text.
    fn shown<'t>(&self, text: &'t str) -> Cow<'t, str> {
        if self.plain {
            Cow::Owned(crate::letters::plain(text))
        } else {
            Cow::Borrowed(text)
        }
    }

    /// Sets the folder of the user's own recipes.
    #[must_use]
    pub fn with_recipes(mut self, folder: Option<PathBuf>) -> Self {
        self.recipes = folder;
        self
    }

    /// Sets the folder that keeps the history.
    #[must_use]
    pub fn with_state(mut self, folder: Option<PathBuf>) -> Self {
        self.state = folder;
        self
    }

    /// Fixes the width instead of asking the terminal.
    #[must_use]
    pub fn with_width(mut self, columns: Option<usize>) -> Self {
        self.width = columns;
        self
    }
}

/// A folder that files may be written into, and what messages call it.
#[derive(Clone, Copy)]
struct Below<'p> {
    folder: &'p Path,
    called: &'static str,
}

impl Below<'_> {
    /// Refuses a place below the folder that a link leads out of it: compares where both really are.
    fn refuse_links_out(self, name: &str, place: &Path) -> Result<(), OutsideError> {
        let real = |p: &Path| p.canonicalize().map_err(|e| file_trouble("find", p, &e));
        if real(place)?.starts_with(real(self.folder)?) {
            return Ok(());
        }
        Err(OutsideError::new(
            format!("`{name}` leads out of the {} through a link", self.called),
            "remove the link, or use another place",
        ))
    }

    /// Writes a file whole or not at all: into another beside it, which then takes its name.
    fn write(self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        let path = self.folder.join(inner_path(name)?);
        let folder = path.parent().unwrap_or(self.folder);
        fs::create_dir_all(self.folder).map_err(|e| file_trouble("create", self.folder, &e))?;
        // A folder that is still to be made comes to lie where the last one that exists really is.
        let there = folder.ancestors().find(|folder| folder.exists());
        self.refuse_links_out(name, there.unwrap_or(self.folder))?;
        fs::create_dir_all(folder).map_err(|e| file_trouble("create", folder, &e))?;
        self.refuse_links_out(name, folder)?;
        let stem = path.file_name().unwrap_or_default().to_string_lossy();
        let part = folder.join(format!(".{stem}.{}.part", std::process::id()));
        let written = fs::File::create_new(&part)
            .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
            .and_then(|()| fs::rename(&part, &path));
        written.map_err(|e| {
            let _ = fs::remove_file(&part);
            file_trouble("write", &path, &e)
        })?;
        Ok(path)
    }
}

fn no_recipe_folder() -> OutsideError {
    OutsideError::new(
        "there is no folder for your own recipes",
        "start with --recipes FOLDER",
    )
}

fn file_trouble(what: &str, path: &Path, error: &std::io::Error) -> OutsideError {
    let remedy = match error.kind() {
        std::io::ErrorKind::NotFound => "check the name and the folder",
        std::io::ErrorKind::PermissionDenied => "check who may read and write there",
        std::io::ErrorKind::IsADirectory => "name a file in the folder",
        std::io::ErrorKind::InvalidData => "save it as UTF-8 text",
        _ => "check the disk and the folder",
    };
    OutsideError::new(
        format!("cannot {what} `{}`: {}", path.display(), reason(error)),
        remedy,
    )
}

/// Why the disk refused, in words: the system's own add its number.
pub(crate) fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        std::io::ErrorKind::InvalidData => "it is not UTF-8 text".to_owned(),
        std::io::ErrorKind::PermissionDenied => "it may not be read or written".to_owned(),
        _ => {
            let text = error.to_string();
            text.split(" (os error")
                .next()
                .unwrap_or_default()
                .to_owned()
        }
    }
}

fn print_line(mut stream: impl Write, text: &str) {
    // A reader that has gone away (`| head`) is no fault of the script.
    let _ = writeln!(stream, "{text}").and_then(|()| stream.flush());
}

impl Outside for RealOutside {
    fn read_script(&self, path: &Path) -> Result<String, OutsideError> {
        let file = fs::File::open(path).map_err(|e| file_trouble("read", path, &e))?;
        let mut text = String::new();
        let read = file
            .take(SCRIPT_BYTES_MOST + 1)
            .read_to_string(&mut text)
            .map_err(|e| file_trouble("read", path, &e))?;
        if read as u64 > SCRIPT_BYTES_MOST {
            return Err(OutsideError::new(
                format!("`{}` is larger than any script should be", path.display()),
                format!("split it; at most {SCRIPT_BYTES_MOST} bytes are read"),
            ));
        }
        Ok(text)
    }

    fn exists(&self, path: &Path) -> bool {
        path.is_file()
    }

    fn scripts_in(&self, folder: &Path) -> Vec<String> {
        let here = folder.as_os_str().is_empty();
        let mut names: Vec<String> = fs::read_dir(if here { Path::new(".") } else { folder })
            .into_iter()
            .flatten()
            .flatten()
            .filter_map(|entry| script_stem(&entry.path()))
            .collect();
        names.sort();
        names
    }

    fn print(&self, text: &str) {
        print_line(std::io::stdout().lock(), &self.shown(text));
    }

    fn print_data(&self, text: &str) {
        print_line(std::io::stdout().lock(), text);
    }

    fn plain_letters(&self) -> bool {
        self.plain
    }

    fn report(&self, text: &str) {
        print_line(std::io::stderr().lock(), &self.shown(text));
    }

    fn write_file(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        self.output_folder().write(name, bytes)
    }

    fn write_recipe(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        let folder = self.recipes.as_deref().ok_or_else(no_recipe_folder)?;
        Below {
            folder,
            called: "recipe folder",
        }
        .write(name, bytes)
    }

    fn read_file(&self, name: &str) -> Result<String, OutsideError> {
        let path = self.output.join(inner_path(name)?);
        if path.exists() {
            self.output_folder().refuse_links_out(name, &path)?;
        }
        self.read_script(&path)
    }

    fn recipe_folder(&self) -> Option<PathBuf> {
        self.recipes.clone()
    }

    fn state_folder(&self) -> Option<PathBuf> {
        self.state.clone()
    }

    fn width(&self) -> usize {
        self.width
            .or_else(|| {
                self.is_terminal()
                    .then(|| crossterm::terminal::size().ok())
                    .flatten()
                    .map(|(columns, _)| usize::from(columns))
            })
            .unwrap_or(WIDTH_ASSUMED)
            .max(WIDTH_LEAST)
    }

    fn is_terminal(&self) -> bool {
        std::io::stdout().is_terminal()
    }

    fn elsewhere(&self) -> Elsewhere {
        let own = self.clone();
        Box::new(move || Rc::new(ReadOnly(own.clone())))
    }

    fn progress(&self, done: usize, of: usize) {
        let mut messages = std::io::stderr();
        let is_dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        if is_dumb || !messages.is_terminal() {
            return;
        }
        // Each time over the same line, which is wiped in the end. Nothing can be done about a terminal that is gone.
        let told = if done < of {
            format!("\r{done} of {of} variants")
        } else {
            format!("\r{:PROGRESS_COLUMNS$}\r", "")
        };
        let _ = messages.write_all(told.as_bytes());
        let _ = messages.flush();
    }
}

/// When a file was last written, where that can be told.
pub fn modified(path: &Path) -> Option<std::time::SystemTime> {
    fs::metadata(path).and_then(|known| known.modified()).ok()
}

fn script_stem(path: &Path) -> Option<String> {
    (path.extension()? == "rhai")
        .then(|| path.file_stem().map(|s| s.to_string_lossy().into_owned()))?
}

/// A world in memory: scripts, what was printed, what was written.
#[derive(Debug, Default)]
pub struct MemoryOutside {
    scripts: BTreeMap<PathBuf, String>,
    recipes: Option<PathBuf>,
    printed: RefCell<Vec<String>>,
    reported: RefCell<Vec<String>>,
    written: RefCell<BTreeMap<String, Vec<u8>>>,
    /// Recipes that were written.
    kept: RefCell<BTreeMap<PathBuf, String>>,
}

impl MemoryOutside {
    /// An empty world.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a script.
    #[must_use]
    pub fn with_script(mut self, path: &str, text: &str) -> Self {
        self.scripts.insert(PathBuf::from(path), text.to_owned());
        self
    }

    /// Sets the recipe folder.
    #[must_use]
    pub fn with_recipes(mut self, folder: &str) -> Self {
        self.recipes = Some(PathBuf::from(folder));
        self
    }

    /// Takes what was printed so far.
    pub fn printed(&self) -> Vec<String> {
        self.printed.take()
    }

    /// Takes what was reported so far.
    pub fn reported(&self) -> Vec<String> {
        self.reported.take()
    }

    /// What was written, by name.
    pub fn written(&self) -> BTreeMap<String, Vec<u8>> {
        self.written.borrow().clone()
    }
}

fn missing(path: &Path) -> OutsideError {
    OutsideError::new(
        format!("cannot read `{}`: there is no such file", path.display()),
        "check the name and the folder",
    )
}

impl Outside for MemoryOutside {
    fn read_script(&self, path: &Path) -> Result<String, OutsideError> {
        let kept = self.kept.borrow();
        let found = kept.get(path).or_else(|| self.scripts.get(path)).cloned();
        found.ok_or_else(|| missing(path))
    }

    fn exists(&self, path: &Path) -> bool {
        self.scripts.contains_key(path) || self.kept.borrow().contains_key(path)
    }

    fn scripts_in(&self, folder: &Path) -> Vec<String> {
        let kept = self.kept.borrow();
        let names: BTreeSet<String> = self
            .scripts
            .keys()
            .chain(kept.keys())
            .filter(|path| path.parent() == Some(folder))
            .filter_map(|path| script_stem(path))
            .collect();
        names.into_iter().collect()
    }

    fn print(&self, text: &str) {
        self.printed.borrow_mut().push(text.to_owned());
    }

    fn report(&self, text: &str) {
        self.reported.borrow_mut().push(text.to_owned());
    }

    fn write_file(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        let path = inner_path(name)?;
        self.written
            .borrow_mut()
            .insert(path.to_string_lossy().into_owned(), bytes.to_vec());
        Ok(path)
    }

    fn write_recipe(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, OutsideError> {
        let folder = self.recipes.as_ref().ok_or_else(no_recipe_folder)?;
        let path = folder.join(inner_path(name)?);
        let text = String::from_utf8_lossy(bytes).into_owned();
        self.kept.borrow_mut().insert(path.clone(), text);
        Ok(path)
    }

    fn read_file(&self, name: &str) -> Result<String, OutsideError> {
        let path = inner_path(name)?;
        let written = self.written.borrow();
        let bytes = written.get(path.to_string_lossy().as_ref());
        bytes
            .map(|bytes| String::from_utf8_lossy(bytes).into_owned())
            .ok_or_else(|| missing(&path))
    }

    fn recipe_folder(&self) -> Option<PathBuf> {
        self.recipes.clone()
    }

    fn state_folder(&self) -> Option<PathBuf> {
        None
    }

    fn width(&self) -> usize {
        WIDTH_ASSUMED
    }

    fn is_terminal(&self) -> bool {
        false
    }

    fn elsewhere(&self) -> Elsewhere {
        let (scripts, recipes) = (self.scripts.clone(), self.recipes.clone());
        Box::new(move || {
            Rc::new(ReadOnly(MemoryOutside {
                scripts: scripts.clone(),
                recipes: recipes.clone(),
                ..MemoryOutside::default()
            }))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_lead_out_are_refused() {
        for name in [
            "",
            " ",
            "..",
            "../a",
            "a/../../b",
            "/etc/x",
            "a/",
            ".hidden",
            "a/.b",
            "a\\b",
            "c:x",
            "a\nb",
            ".",
        ] {
            assert!(inner_path(name).is_err(), "{name:?} was taken");
        }
        assert_eq!(inner_path("./a/b.svg").unwrap(), PathBuf::from("a/b.svg"));
    }

    #[test]
    fn a_file_is_written_whole_and_links_out_are_refused() {
        let base = std::env::temp_dir().join(format!("perpend-outside-{}", std::process::id()));
        let (out, away) = (base.join("out"), base.join("away"));
        fs::create_dir_all(&out).unwrap();
        fs::create_dir_all(&away).unwrap();
        let outside = RealOutside::new(&out);
        let path = outside.write_file("a/b.txt", b"one").unwrap();
        outside.write_file("a/b.txt", b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(out.join("a")).unwrap().count(), 1);
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(&away, out.join("link")).unwrap();
            assert!(outside.write_file("link/x.txt", b"no").is_err());
            assert_eq!(fs::read_dir(&away).unwrap().count(), 0);
        }
        fs::remove_dir_all(&base).unwrap();
    }
}
