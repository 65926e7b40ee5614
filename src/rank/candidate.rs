//! From the needs of one candidate to its standing: class, index, what decides, what is open.

use super::class::{Class, ClassSpan};
use super::index::{self, Part, Weight};
use super::level::Level;
use super::need::{NeedState, Openness};

/// Why a candidate has no standing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RankError<N: std::fmt::Debug> {
    /// No need that bears on the class: a plant of which nothing is known must not come out as
    /// having no limitation.
    #[error("no need that bears on the class was rated")]
    NothingRated,
    /// A need occurs twice; it would count twice in the index.
    #[error("the need {0:?} was given twice")]
    NeedTwice(N),
}

/// Where a candidate stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing<N> {
    /// Its class, by the worst of the needs that bear on it.
    pub class: Class,
    /// One class, or both where a computed level lies near the border between them.
    pub span: ClassSpan,
    /// The class if everything open came out best.
    pub class_best: Class,
    /// The class if everything open came out worst.
    pub class_worst: Class,
    /// The index, corrected into the band of the class, or of the two classes near a border; what
    /// candidates are ordered by.
    pub index: f64,
    /// The square root index before correction; `None` where every weight is 0.
    pub uncorrected: Option<f64>,
    /// The needs at the worst level, in order of id; empty where nothing holds the candidate back.
    pub deciding: Vec<N>,
    /// The open needs, in order of id, savings among them.
    pub open: Vec<N>,
    /// True where the candidate would be S1 but for an open key need.
    pub capped_open: bool,
    /// For class N: whether some setting of the inputs that can be changed lifts it to S3 or
    /// better, as found by running again. `None` until then, and for every other class.
    pub changeable: Option<bool>,
}

impl<N> Standing<N> {
    /// Notes what a run with changed inputs found. Without effect for a class other than N.
    pub fn set_changeable(&mut self, changeable: bool) {
        if self.class.is_refused() {
            self.changeable = Some(changeable);
        }
    }

    /// The class as printed: "S2", near a border "S1/S2", and for N "N1" where changed inputs
    /// would lift it, "N2" where they would not, "N" where that was not tried.
    ///
    /// N1 and N2 are "marginally" and "permanently not suitable" (`fao-x5648e-appendix-1`).
    #[must_use]
    pub fn label(&self) -> String {
        let is_two = self.span.is_border() && self.changeable.is_none();
        if is_two { self.span.to_string() } else { self.refined_symbol().to_owned() }
    }

    /// The class, with N parted into N1 and N2 where that is settled.
    #[must_use]
    pub fn refined_symbol(&self) -> &'static str {
        match self.changeable {
            Some(true) => "N1",
            Some(false) => "N2",
            None => self.class.symbol(),
        }
    }
}

/// The standing of a candidate with these needs.
///
/// Class by the worst [`NeedState::used`] of the needs that are not savings, index by
/// [`index::corrected`] over all as [`NeedState::counted`]; where key needs are open, one limit, moderate at
/// most, is added for what is not known. The order of the needs does not matter, to the last bit: they are
/// sorted by id before anything is multiplied.
///
/// # Errors
/// [`RankError::NothingRated`] without a need that bears on the class, [`RankError::NeedTwice`]
/// where an id occurs twice.
pub fn stand<N>(needs: &[NeedState<N>]) -> Result<Standing<N>, RankError<N>>
where
    N: Ord + Clone + std::fmt::Debug,
{
    let mut sorted: Vec<&NeedState<N>> = needs.iter().collect();
    sorted.sort_by(|one, other| one.need.cmp(&other.need));
    for pair in sorted.windows(2) {
        if let [one, other] = pair
            && one.need == other.need
        {
            return Err(RankError::NeedTwice(one.need.clone()));
        }
    }
    let bearing: Vec<&NeedState<N>> = sorted.iter().copied().filter(|need| !need.is_saving).collect();
    if bearing.is_empty() {
        return Err(RankError::NothingRated);
    }
    let worst_of = |level: fn(&NeedState<N>) -> Level| {
        bearing.iter().map(|need| level(need)).max().unwrap_or(Level::NONE)
    };
    let worst = worst_of(NeedState::used);
    let class_of = |level| Class::from_worst(worst_of(level));

    let class = Class::from_worst(worst);
    let mut parts: Vec<Part> = sorted
        .iter()
        .map(|need| Part { rating: need.rating(), weight: need.weight, bears_class: !need.is_saving })
        .collect();
    // What is not known of a key need is one limit of its own: the open needs keep their differences, and
    // no candidate gains by being open.
    if let Some(held) = bearing.iter().filter_map(|need| need.held_at()).max() {
        parts.push(Part { rating: held.rating(), weight: Weight::ONE, bears_class: true });
    }
    let ids = |keep: &dyn Fn(&NeedState<N>) -> bool| -> Vec<N> {
        sorted.iter().filter(|need| keep(need)).map(|need| need.need.clone()).collect()
    };
    let span = ClassSpan::of(worst_of(|n| n.span().0), worst_of(|n| n.span().1));
    Ok(Standing {
        class,
        span,
        class_best: class_of(NeedState::lowest),
        class_worst: class_of(NeedState::highest),
        index: index::corrected_within(span, class, worst, &parts),
        uncorrected: index::square_root(&parts),
        deciding: ids(&|need| !need.is_saving && worst > Level::NONE && need.used() == worst),
        open: ids(&|need| need.open != Openness::Decided),
        capped_open: class == Class::S2 && class_of(NeedState::estimate) == Class::S1,
        changeable: None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn need(id: &'static str, level: f64) -> NeedState<&'static str> {
        NeedState::decided(id, Level::new(level).unwrap())
    }

    fn open(
        id: &'static str,
        [level, best, expected, worst]: [f64; 4],
        open: Openness,
    ) -> NeedState<&'static str> {
        NeedState {
            best: Level::new(best).unwrap(),
            expected: Level::new(expected).unwrap(),
            worst: Level::new(worst).unwrap(),
            open,
            ..need(id, level)
        }
    }

    #[test]
    fn worst_need_decides_and_is_named() {
        let standing = stand(&[need("water", 2.4), need("light", 0.0), need("cold", 2.4)]).unwrap();
        assert_eq!(standing.class, Class::S2);
        assert_eq!(standing.deciding, ["cold", "water"]);
        assert_eq!((standing.class_best, standing.class_worst), (Class::S2, Class::S2));
        assert_eq!(standing.label(), "S2");
        let perfect = stand(&[need("water", 0.0), need("light", 0.0)]).unwrap();
        assert!(perfect.deciding.is_empty());
        assert_eq!(perfect.index, 100.0);
    }

    #[test]
    fn saving_never_makes_the_class() {
        let saving = NeedState { is_saving: true, key: true, ..need("water-saving", 5.0) };
        let standing = stand(&[need("light", 1.0), saving.clone()]).unwrap();
        assert_eq!(standing.class, Class::S1);
        assert_eq!(standing.deciding, ["light"]);
        // 85 + (95 - 85) x sqrt(0.40)
        assert!((standing.index - 91.3246).abs() < 5e-4);
        assert_eq!(stand(&[saving]), Err(RankError::NothingRated));
    }

    #[test]
    fn open_key_need_is_never_better_than_s2() {
        let key = |state| NeedState { key: true, ..state };
        for cause in [Openness::SiteFact, Openness::Trait] {
            let state = open("wear", [0.0, 0.0, 0.5, 2.5], cause);
            let loose = stand(&[need("light", 0.0), state.clone()]).unwrap();
            assert_eq!((loose.class, loose.capped_open), (Class::S1, false));
            let capped = stand(&[need("light", 0.0), key(state)]).unwrap();
            assert_eq!((capped.class, capped.capped_open), (Class::S2, true));
            // wear is rated at its estimate, 97.5 at 0.5 and 100 at 0; the limit for what is open is 85
            let estimate: f64 = if cause == Openness::SiteFact { 0.975 } else { 1.0 };
            assert!((capped.index - (60.0 + 25.0 * estimate.sqrt())).abs() < 1e-9);
            assert_eq!(capped.label(), "S2");
            assert_eq!((capped.class_best, capped.class_worst), (Class::S1, Class::S2));
            assert_eq!(capped.open, ["wear"]);
        }
        // Where the worst that it may come to is still S1, it stays there, a little lower in the index.
        let mild = open("wear", [0.0, 0.0, 0.5, 1.0], Openness::SiteFact);
        let standing = stand(&[need("light", 0.0), key(mild)]).unwrap();
        assert_eq!((standing.class, standing.class_worst), (Class::S1, Class::S1));
        assert!(standing.index < stand(&[need("light", 0.0), need("wear", 0.5)]).unwrap().index);
        // Not capped where another need has already brought it there.
        let state = key(open("wear", [0.0, 0.0, 0.5, 1.0], Openness::Trait));
        assert!(!stand(&[need("light", 2.5), state]).unwrap().capped_open);
    }

    #[test]
    fn missing_site_fact_is_rated_at_its_mean_and_shows_its_range() {
        let state = open("salinity", [0.0, 0.0, 2.5, 5.0], Openness::SiteFact);
        let standing = stand(&[need("light", 0.0), state]).unwrap();
        assert_eq!(standing.class, Class::S2);
        assert_eq!((standing.class_best, standing.class_worst), (Class::S1, Class::N));
        assert_eq!(standing.index, 72.5);
        // A decided refusal on the same need is not softened by the mean.
        let refused = open("salinity", [5.0, 0.0, 2.5, 5.0], Openness::SiteFact);
        let standing = stand(&[need("light", 0.0), refused]).unwrap();
        assert_eq!((standing.class_best, standing.class), (Class::N, Class::N));
    }

    #[test]
    fn missing_trait_keeps_its_estimate() {
        let state = open("heat", [1.5, 0.5, 2.0, 3.5], Openness::Trait);
        let standing = stand(&[state]).unwrap();
        assert_eq!(standing.class, Class::S1);
        assert_eq!((standing.class_best, standing.class_worst), (Class::S1, Class::S3));
    }

    #[test]
    fn label_near_a_border() {
        assert_eq!(stand(&[need("light", 1.95)]).unwrap().label(), "S1/S2");
        let stated = NeedState { graded: false, ..need("wear", 2.0) };
        assert_eq!(stand(std::slice::from_ref(&stated)).unwrap().label(), "S2");
        // A computed level near the border cannot blur what a stated limit settles.
        assert_eq!(stand(&[need("light", 1.95), stated]).unwrap().label(), "S2");
    }

    #[test]
    fn label_of_n() {
        let mut standing = stand(&[need("cold", 5.0)]).unwrap();
        assert_eq!((standing.label().as_str(), standing.index), ("N", 0.0));
        standing.set_changeable(true);
        assert_eq!(standing.label(), "N1");
        standing.set_changeable(false);
        assert_eq!(standing.label(), "N2");
        let mut fine = stand(&[need("cold", 0.0)]).unwrap();
        fine.set_changeable(true);
        assert_eq!(fine.changeable, None);
    }

    #[test]
    fn refusals() {
        assert_eq!(stand::<&str>(&[]), Err(RankError::NothingRated));
        assert_eq!(stand(&[need("cold", 1.0), need("cold", 2.0)]), Err(RankError::NeedTwice("cold")));
    }
}
