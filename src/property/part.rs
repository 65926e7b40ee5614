//! A model with some of its options only, and where each of them stood in the whole.

use super::model::{Choice, Model, ModelOption};

/// A part of a model.
#[derive(Clone)]
pub struct Part {
    /// The smaller model.
    pub model: Model,
    kept: Vec<Vec<usize>>,
}

impl Part {
    /// With these options of each area.
    pub fn of(model: &Model, kept: Vec<Vec<usize>>) -> Self {
        let mut smaller = model.clone();
        for (area, kept) in smaller.areas.iter_mut().zip(&kept) {
            area.options = kept.iter().map(|at| area.options[*at].clone()).collect();
        }
        Self { model: smaller, kept }
    }

    /// Without the options of which it is not known what they take of a resource that is limited, or of the one
    /// that is counted: such a limit cannot be held against them.
    pub fn known(model: &Model, counted: Option<usize>) -> Self {
        let asked: Vec<usize> = (0..model.resources.len())
            .filter(|at| model.resources[*at].most.is_finite() || counted == Some(*at))
            .collect();
        let is_known = |option: &ModelOption| asked.iter().all(|at| option.takes[*at].is_finite());
        let of_area =
            |options: &[ModelOption]| (0..options.len()).filter(|at| is_known(&options[*at])).collect();
        Self::of(model, model.areas.iter().map(|area| of_area(&area.options)).collect())
    }

    /// The part with only these of its options.
    #[must_use]
    pub fn with(&self, kept: &[Vec<usize>]) -> Self {
        let inner = Self::of(&self.model, kept.to_vec());
        let kept = inner
            .kept
            .iter()
            .zip(&self.kept)
            .map(|(inner, own)| inner.iter().map(|at| own[*at]).collect())
            .collect();
        Self { model: inner.model, kept }
    }

    /// The part without a kind.
    #[must_use]
    pub fn without_kind(&self, kind: usize) -> Self {
        self.with(&self.where_kind(|own| own != kind))
    }

    /// The part with only these kinds.
    #[must_use]
    pub fn with_kinds(&self, kinds: &[usize]) -> Self {
        self.with(&self.where_kind(|own| kinds.contains(&own)))
    }

    fn where_kind(&self, stays: impl Fn(usize) -> bool) -> Vec<Vec<usize>> {
        let of = |options: &[ModelOption]| (0..options.len()).filter(|at| stays(options[*at].kind)).collect();
        self.model.areas.iter().map(|area| of(&area.options)).collect()
    }

    /// Whether some area is left without an option.
    pub fn is_bare(&self) -> bool {
        self.kept.iter().any(Vec::is_empty)
    }

    /// A choice of the part as one of the whole.
    pub fn in_whole(&self, choice: &[usize]) -> Choice {
        self.kept.iter().zip(choice).map(|(kept, at)| kept[*at]).collect()
    }

    /// A choice of the whole as one of the part; `None` where the part lacks some of it.
    pub fn in_part(&self, choice: &[usize]) -> Option<Choice> {
        choice.iter().zip(&self.kept).map(|(at, kept)| kept.iter().position(|own| own == at)).collect()
    }
}
