//! The `perpend` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    let code = perpend::command::run(std::env::args_os());
    ExitCode::from(u8::try_from(code).unwrap_or(u8::MAX))
}
