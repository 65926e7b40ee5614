//! A search split by kinds and by zones, until the upper bound leaves nothing in or so little that it is solved
//! as it stands.
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
use super::zone_split::ZoneSplit;

/// So few options are solved as they stand.
const FEW: usize = 60;
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
    split_down_to(FEW, model, kept, asked, prices)
}

/// The same where so few options are solved as they stand.
pub fn split_down_to(
    few: usize,
    model: &Model,
    kept: Vec<Vec<usize>>,
    asked: Asked<'_>,
    prices: &Prices,
) -> Result<Option<Choice>, Undecided> {
    let part = Part::of(model, kept);
    if part.is_bare() {
        return Ok(None);
    }
    let mut search = Search { few, model, asked, kinds_hardly_bind: false, found: None };
    // where no value is known to come up to, the bound cuts nothing off, and where nothing keeps the limits the
    // programme is soon told so
    if part.model.count_options() <= few || asked.least == f64::NEG_INFINITY {
        search.solve(&part)?;
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
    few: usize,
    model: &'a Model,
    /// What is asked; it rises with what is found.
    asked: Asked<'a>,
    kinds_hardly_bind: bool,
    /// The best so far.
    found: Option<Choice>,
}

impl Search<'_> {
    /// Solves a branch or leaves what is to be looked into of it, what is likely to be best last.
    fn look_into(&mut self, mut branch: Branch, branches: &mut Vec<Branch>) -> Result<(), Undecided> {
        if branch.part.is_bare() {
            return Ok(());
        }
        if let (Goal::LeastOf(at), Some(found)) = (self.asked.goal, &self.found) {
            // nothing that takes as much is looked for
            branch.part.model.resources[at].most = self.model.used(found, at) * (1.0 - 1e-9);
        }
        if branch.part.model.count_options() <= self.few {
            return self.solve(&branch.part);
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
        if part.is_bare() {
            return Ok(());
        }
        if part.model.count_options() <= self.few {
            return self.solve(&part);
        }
        // the kind of which most depends
        let heaviest = bound.planted.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a });
        let open = bound.upper - self.asked.least;
        let slight = self.kinds_hardly_bind && heaviest.is_none_or(|(_, lost)| lost < SLIGHT * open);
        let zone = slight.then(|| ZoneSplit::of(&part.model, &bound.prices)).flatten();
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

    fn solve(&mut self, part: &Part) -> Result<(), Undecided> {
        let found = match self.asked.goal {
            Goal::BestBut(other) => {
                let own = part.in_part(other);
                // what is to be left out may be left out already
                let goal = own.as_ref().map_or(Goal::Best, |own| Goal::BestBut(own));
                solve_whole(&part.model, Asked { goal, ..self.asked })?
            }
            _ => solve_whole(&part.model, self.asked)?,
        };
        let Some(found) = found.map(|found| part.in_whole(&found)) else { return Ok(()) };
        if let Goal::LeastOf(at) = self.asked.goal {
            let used = |choice: &Choice| self.model.used(choice, at);
            if self.found.as_ref().is_none_or(|own| used(&found) < used(own)) {
                self.found = Some(found);
            }
        } else {
            self.asked.least = self.asked.least.max(self.model.value(&found));
            self.found = Some(found);
        }
        Ok(())
    }
}
