//! A search split by kinds and by zones, until the upper bound leaves nothing in or so little that it is walked
//! through (`walk`) or solved as it stands.
//!
//! Of all choices first those in which some kind is counted and then those without it: the programme's own
//! relaxation plants many kinds by fractions and would go on for long; with the kinds told it hardly has to branch.
//! Where kinds hardly bind, those in which a zone takes at most so much and those in which it takes more
//! (`zone_split`): that is what the bound then loses most by.

use super::bound::{Bound, Known};
use super::model::{Choice, Model};
use super::part::Part;
use super::prices::Prices;
use super::programme::{Asked, Goal, Undecided, solve_whole};
use super::reduce::left_by;
use super::walk::{Walked, walk};
use super::zone_split::ZoneSplit;

/// Where a search ends that is split no further.
#[derive(Clone, Copy, Debug)]
pub struct End {
    /// So few options are solved as they stand.
    pub options: usize,
    /// What so many steps lead through is walked through before.
    pub steps: usize,
}

/// A step takes some tens of nanoseconds, a bound a quarter of a millisecond, and the solver several.
const END: End = End { options: 60, steps: 10_000 };
/// A kind of which less depends than this share of what is still open is not worth a split where kinds
/// hardly bind.
const SLIGHT: f64 = 0.1;

/// The best of the choices with only these options of each area; `prices` are good for the model.
pub fn solve_kept(
    model: &Model,
    kept: Vec<Vec<usize>>,
    asked: Asked<'_>,
    prices: &Prices,
) -> Result<Option<Choice>, Undecided> {
    split_down_to(END, model, kept, asked, prices)
}

/// The same with another end.
pub fn split_down_to(
    end: End,
    model: &Model,
    kept: Vec<Vec<usize>>,
    asked: Asked<'_>,
    prices: &Prices,
) -> Result<Option<Choice>, Undecided> {
    let part = Part::of(model, kept);
    if part.is_bare() {
        return Ok(None);
    }
    let mut search = Search { end, model, asked, kinds_hardly_bind: false, found: None };
    // where no value is known to come up to, the bound cuts nothing off, and where nothing keeps the limits the
    // programme is soon told so
    if part.model.count_options() <= end.options || asked.least == f64::NEG_INFINITY {
        if !search.is_walked(&part, prices) {
            search.solve(&part)?;
        }
        return Ok(search.found);
    }
    let known = Known { given: &[], crossed: asked.crossed };
    let bound = Bound::knowing(&part.model, known, Some(prices));
    search.kinds_hardly_bind = bound.is_hardly_lowered_by_kinds(&part.model, known, Some(prices));
    let mut branches = vec![Branch { part, given: Vec::new(), prices: bound.prices }];
    while let Some(branch) = branches.pop() {
        search.look_into(branch, &mut branches)?;
    }
    Ok(search.found)
}

/// Some of the choices.
struct Branch {
    part: Part,
    /// Kinds that are counted, planted or not.
    given: Vec<usize>,
    /// Good for the choices of which these are some.
    prices: Prices,
}

struct Search<'a> {
    end: End,
    model: &'a Model,
    /// What is asked; it rises with what is found.
    asked: Asked<'a>,
    kinds_hardly_bind: bool,
    /// The best so far.
    found: Option<Choice>,
}

impl<'a> Search<'a> {
    /// Solves a branch or leaves what is to be looked into of it, what is likely to be best last.
    fn look_into(&mut self, mut branch: Branch, branches: &mut Vec<Branch>) -> Result<(), Undecided> {
        if branch.part.is_bare() {
            return Ok(());
        }
        if let (Goal::LeastOf(at), Some(found)) = (self.asked.goal, &self.found) {
            // nothing that takes as much is looked for
            branch.part.model.resources[at].most = self.model.used(found, at) * (1.0 - 1e-9);
        }
        let few = self.end.options;
        let few = |part: &Part| part.model.count_options() <= few;
        if few(&branch.part) {
            return match self.is_walked(&branch.part, &branch.prices) {
                true => Ok(()),
                false => self.solve(&branch.part),
            };
        }
        let known = Known { given: &branch.given, crossed: self.asked.crossed };
        let bound = Bound::knowing(&branch.part.model, known, Some(&branch.prices));
        if bound.upper < self.asked.least {
            return Ok(());
        }
        let mut part = branch.part.with(&bound.reaching(self.asked.least));
        if !matches!(self.asked.goal, Goal::BestBut(_)) {
            part = part.with(&left_by(&part.model, &branch.given));
        }
        if part.is_bare() || self.is_walked(&part, &bound.prices) {
            return Ok(());
        }
        if few(&part) {
            return self.solve(&part);
        }
        // the kind of which most depends
        let heaviest = bound.planted.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a });
        let open = bound.upper - self.asked.least;
        let slight = self.kinds_hardly_bind && heaviest.is_none_or(|(_, lost)| lost < SLIGHT * open);
        let zone =
            (slight || heaviest.is_none()).then(|| ZoneSplit::of(&part.model, &bound.prices)).flatten();
        if let Some(zone) = zone {
            for part in [zone.above(&part), zone.at_most(&part)] {
                let (given, prices) = (branch.given.clone(), bound.prices.clone());
                branches.push(Branch { part, given, prices });
            }
            return Ok(());
        }
        let Some((kind, lost)) = heaviest else {
            return self.solve(&part);
        };
        if bound.upper - lost >= self.asked.least {
            branches.push(Branch {
                part: part.without_kind(kind),
                given: branch.given.clone(),
                prices: bound.prices.clone(),
            });
        }
        branch.given.push(kind);
        if part.model.kinds.is_some_and(|most| most <= branch.given.len()) {
            part = part.with_kinds(&branch.given);
        }
        branches.push(Branch { part, given: branch.given, prices: bound.prices });
        Ok(())
    }

    /// Walks through a part if it is short enough.
    fn is_walked(&mut self, part: &Part, prices: &Prices) -> bool {
        let own = self.own_of(part);
        match walk(&part.model, self.asked_of(own.as_ref()), prices, self.end.steps) {
            Walked::Through(found) => {
                self.take(part, found);
                true
            }
            Walked::TooFar => false,
        }
    }

    fn solve(&mut self, part: &Part) -> Result<(), Undecided> {
        let own = self.own_of(part);
        let found = solve_whole(&part.model, self.asked_of(own.as_ref()))?;
        self.take(part, found);
        Ok(())
    }

    /// What is to be left out, as a choice of a part; `None` where that lacks it anyway.
    fn own_of(&self, part: &Part) -> Option<Choice> {
        match self.asked.goal {
            Goal::BestBut(other) => part.in_part(other),
            _ => None,
        }
    }

    fn asked_of<'b>(&self, own: Option<&'b Choice>) -> Asked<'b>
    where
        'a: 'b,
    {
        let goal = match (self.asked.goal, own) {
            (Goal::BestBut(_), Some(own)) => Goal::BestBut(own),
            (Goal::BestBut(_), None) => Goal::Best,
            (goal, _) => goal,
        };
        Asked { goal, ..self.asked }
    }

    /// Keeps what was found in a part, if it is better than what was found before.
    fn take(&mut self, part: &Part, found: Option<Choice>) {
        let Some(found) = found.map(|found| part.in_whole(&found)) else { return };
        if let Goal::LeastOf(at) = self.asked.goal {
            let used = |choice: &Choice| self.model.used(choice, at);
            if self.found.as_ref().is_none_or(|own| used(&found) < used(own)) {
                self.found = Some(found);
            }
        } else {
            self.asked.least = self.asked.least.max(self.model.value(&found));
            self.found = Some(found);
        }
    }
}
