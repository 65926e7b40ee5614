//! A finding as a value, and the list in which a check collects them all.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

/// A text that was read, with the name that messages use for it.
#[derive(Debug, PartialEq, Eq)]
pub struct Source {
    /// Path as the reader would type it, or `<standard input>`.
    pub path: String,
    /// The whole text.
    pub text: Cow<'static, str>,
}

/// A stretch of a source, in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The text.
    pub source: Arc<Source>,
    /// Byte range in the text.
    pub span: Range<usize>,
}

impl Place {
    /// Line and column of the first character, both from one; the column counts characters.
    pub fn line_and_column(&self) -> (usize, usize) {
        let mut start = self.span.start.min(self.source.text.len());
        while !self.source.text.is_char_boundary(start) {
            start -= 1;
        }
        let before = &self.source.text[..start];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        (line, before[line_start..].chars().count() + 1)
    }

    /// `path:line:column`.
    pub fn locate(&self) -> String {
        let (line, column) = self.line_and_column();
        format!("{}:{line}:{column}", self.source.path)
    }
}

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The input is used all the same.
    Warning,
    /// The input is refused.
    Error,
}

/// One thing found wrong, or worth a word, in what somebody wrote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Stable name of the kind of finding, for example `unknown-trait`.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong, in one plain sentence without a capital or full stop.
    pub message: String,
    /// Where; a finding about a whole folder or command has no place.
    pub place: Option<Place>,
    /// Words under the carets; may be empty.
    pub label: String,
    /// Another place that belongs to the fault, with its words.
    pub also: Vec<(Place, String)>,
    /// What would mend it.
    pub help: Option<String>,
    /// The name that nothing declares, with its family, such as `site.ph` or `sources.trial`, where
    /// that is the fault: whoever uses a name is not to blame where its declaration is faulty.
    pub undeclared: Option<String>,
}

impl Finding {
    /// A fault at a place.
    pub fn error(code: &'static str, place: &Place, message: impl Into<String>) -> Self {
        Self { place: Some(place.clone()), ..Self::bare(code, message) }
    }

    /// A fault of something that has no text to point at.
    pub fn bare(code: &'static str, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            message: message.into(),
            place: None,
            label: String::new(),
            also: Vec::new(),
            help: None,
            undeclared: None,
        }
    }

    /// The same, only as a warning.
    pub fn as_warning(mut self) -> Self {
        self.severity = Severity::Warning;
        self
    }

    /// With words under the carets.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// With what would mend it.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// With what would mend it, where something is known to.
    pub fn maybe_help(mut self, help: Option<String>) -> Self {
        self.help = help;
        self
    }

    /// With the name that nothing declares.
    pub fn undeclared(mut self, name: impl Into<String>) -> Self {
        self.undeclared = Some(name.into());
        self
    }

    /// With another place that belongs to the fault.
    pub fn also(mut self, place: &Place, words: impl Into<String>) -> Self {
        self.also.push((place.clone(), words.into()));
        self
    }
}

/// All findings of a run, in the order in which they were met.
pub type Findings = Vec<Finding>;
