//! Ways a command ends without a result, and their exit codes.

use slabtone::analysis::study::StudyError;
use slabtone::input::fault::{InputError, Refused};
use slabtone::report::json::NotFinite;
use slabtone::report::page::PageError;
use std::fmt;
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

/// Why a command has no result.
#[derive(Debug)]
pub(super) enum Failure {
    /// Input files that cannot be used.
    Files(Vec<InputError>),
    /// Arguments that cannot be used.
    Arguments(String),
    /// A design that cannot be studied.
    Study(StudyError),
    /// Well-formed, but what is asked for cannot be had.
    Unfit(String),
    /// Writing failed.
    Disk {
        /// Which file or folder.
        path: PathBuf,
        /// What the system says.
        error: io::Error,
    },
    /// Printing failed.
    Terminal(io::Error),
    /// Whoever read the output has left.
    ClosedPipe,
    /// A result that must not be shown.
    Program(String),
}

impl Failure {
    pub(super) fn exit_code(&self) -> ExitCode {
        ExitCode::from(match self {
            Self::ClosedPipe => 0,
            Self::Files(files) if files.iter().any(|f| f.machine) => 3,
            Self::Unfit(_) | Self::Study(StudyError::NoAir(_)) => 1,
            Self::Files(_) | Self::Arguments(_) | Self::Study(_) => 2,
            Self::Disk { .. } | Self::Terminal(_) | Self::Program(_) => 3,
        })
    }

    /// From a failure to print: a closed pipe is no failure.
    pub(super) fn printing(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Self::ClosedPipe,
            _ => Self::Terminal(error),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Files(files) => {
                // Styled always: the writer strips what its stream cannot show.
                let texts: Vec<String> = files.iter().map(|e| e.render(true)).collect();
                f.write_str(&texts.join("\n\n"))
            }
            Self::Arguments(text) => write!(f, "error: {text}"),
            Self::Study(error) => write!(f, "error: {error}"),
            Self::Unfit(text) => write!(f, "unfit: {text}"),
            Self::Disk { path, error } => {
                write!(
                    f,
                    "error: cannot write `{}`: {error}\n  help: name a folder that exists or can be made, on a disk with room, with --out",
                    path.display()
                )
            }
            Self::Terminal(error) => write!(f, "error: cannot print the result: {error}"),
            Self::ClosedPipe => Ok(()),
            Self::Program(text) => write!(f, "error: {text}"),
        }
    }
}

impl From<InputError> for Failure {
    fn from(error: InputError) -> Self {
        Self::Files(vec![error])
    }
}

impl From<Refused> for Failure {
    fn from(refused: Refused) -> Self {
        Self::Files(refused.files)
    }
}

impl From<StudyError> for Failure {
    fn from(error: StudyError) -> Self {
        Self::Study(error)
    }
}

impl From<NotFinite> for Failure {
    fn from(error: NotFinite) -> Self {
        Self::Program(error.to_string())
    }
}

impl From<PageError> for Failure {
    fn from(error: PageError) -> Self {
        Self::Program(error.to_string())
    }
}

impl From<csv::Error> for Failure {
    fn from(error: csv::Error) -> Self {
        Self::Program(error.to_string())
    }
}
