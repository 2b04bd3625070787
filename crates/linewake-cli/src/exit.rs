//! Exit codes: the one list. docs/reference/exit-codes.md is made from it.

/// How the program ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done.
    Done,
    /// Something outside the model and the arguments went wrong: a file, the disk, the machine.
    Failed,
    /// The arguments are wrong.
    Usage,
    /// The model, or other data that was read, is not valid.
    Invalid,
    /// Done, and a target that was asked for is not met.
    TargetMissed,
    /// Stopped by Ctrl-C.
    Interrupted,
}

impl Exit {
    /// All of them, by code.
    pub const ALL: [Self; 6] =
        [Self::Done, Self::Failed, Self::Usage, Self::Invalid, Self::TargetMissed, Self::Interrupted];

    /// The code that a shell sees.
    #[must_use]
    pub fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Failed => 1,
            Self::Usage => 2,
            Self::Invalid => 3,
            Self::TargetMissed => 4,
            Self::Interrupted => 130,
        }
    }

    /// What it means, for the documentation.
    #[must_use]
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Done => "Done. Also when the reader of the output went away early (a closed pipe).",
            Self::Failed => {
                "Failed for a reason outside model and arguments: a file that cannot be read or written, a full disk, \
                 an output folder that linewake did not make."
            }
            Self::Usage => {
                "Wrong usage: an unknown command or option, or a value that an option does not take."
            }
            Self::Invalid => "The model (or other data that was read) is not valid; every problem is listed.",
            Self::TargetMissed => {
                "Done, but a target that was asked for is not met: the precision of run --precision."
            }
            Self::Interrupted => {
                "Interrupted by Ctrl-C; nothing half-written is left, and a study keeps the runs that are done."
            }
        }
    }
}
