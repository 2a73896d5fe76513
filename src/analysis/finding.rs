//! What an analysis has to tell its user beside numbers.

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// Needs care or a decision.
    Caution,
    /// The design does not do its job as it stands.
    Unfit,
}

impl Severity {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Unfit => "unfit",
        }
    }
}

/// One sentence for the user.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// What it is about ("left woofer", "crossover").
    pub subject: String,
    /// What was found and what would help.
    pub text: String,
}

impl Finding {
    /// The same findings, those of equal text told once with all their subjects.
    pub fn merged(findings: Vec<Self>) -> Vec<Self> {
        let mut merged: Vec<Self> = Vec::new();
        for finding in findings {
            let same = |f: &&mut Self| f.severity == finding.severity && f.text == finding.text;
            match merged.iter_mut().find(same) {
                Some(first) => first.subject = format!("{}, {}", first.subject, finding.subject),
                None => merged.push(finding),
            }
        }
        merged
    }

    /// A finding that makes the design unfit.
    pub fn unfit(subject: impl Into<String>, text: impl Into<String>) -> Self {
        Self { severity: Severity::Unfit, subject: subject.into(), text: text.into() }
    }

    /// A finding that needs care.
    pub fn caution(subject: impl Into<String>, text: impl Into<String>) -> Self {
        Self { severity: Severity::Caution, subject: subject.into(), text: text.into() }
    }

    /// A finding worth knowing.
    pub fn note(subject: impl Into<String>, text: impl Into<String>) -> Self {
        Self { severity: Severity::Note, subject: subject.into(), text: text.into() }
    }
}
