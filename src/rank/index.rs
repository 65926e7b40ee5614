//! Land indices: the square root index, its correction into the band of the class, and the
//! published methods that it is compared with.

use super::class::{BORDER_DISTANCE, Class, ClassSpan};
use super::level::{Level, LevelName, Rating};

/// How much a need counts in the index, 0 to 5; 1 is the published method.
///
/// A weight is an exponent: the rating R enters as 100 (R/100)^w. 2 counts the need twice, 0 takes
/// it out of the index. A declared departure of this program; the published indices have none.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Weight(f64);

impl Weight {
    /// Weight 1, the published method.
    pub const ONE: Weight = Weight(1.0);

    /// Takes a number from 0 to 5; `None` for anything else, NaN included.
    #[must_use]
    pub fn new(value: f64) -> Option<Weight> {
        (0.0..=5.0).contains(&value).then_some(Weight(value + 0.0))
    }

    /// The number.
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }
}

impl Default for Weight {
    fn default() -> Self {
        Weight::ONE
    }
}

/// One need as the index sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Its rating.
    pub rating: Rating,
    /// Its weight.
    pub weight: Weight,
    /// False for a saving: it may lower the index, it is never the worst need.
    pub bears_class: bool,
}

impl Part {
    /// A need with weight 1 that bears on the class.
    #[must_use]
    pub fn plain(rating: Rating) -> Part {
        Part { rating, weight: Weight::ONE, bears_class: true }
    }

    /// (R/100)^w, between 0 and 1. A weight of 0 gives 1, also for a rating of 0.
    fn share(self) -> f64 {
        (self.rating.value() / 100.0).powf(self.weight.value())
    }
}

/// Square root index after Khiddir, not corrected: R_min x sqrt(A/100 x B/100 x ...).
///
/// Savings are rated like needs here and may be R_min.
/// R_min is the lowest rating, A, B ... are the others; each rating first raised to its weight,
/// 100 (R/100)^w. Parts of weight 0 are left out. `None` where nothing is left.
///
/// That the index is "the square root method" of Khiddir, formed with the lowest rating, stands in
/// `corrected-land-index-importance` and `-functions` (abstracts; their equation 1 could not be read); the
/// equation as written here is from memory.
#[must_use]
pub fn square_root(parts: &[Part]) -> Option<f64> {
    let shares = || parts.iter().filter(|part| part.weight.value() > 0.0).map(|part| part.share());
    let (worst_at, worst) = shares().enumerate().min_by(|(_, one), (_, other)| one.total_cmp(other))?;
    let others: f64 =
        shares().enumerate().filter(|(at, _)| *at != worst_at).map(|(_, share)| share).product();
    Some(100.0 * worst * others.sqrt())
}

/// Storie index: 100 x A/100 x B/100 x ..., each rating raised to its weight. `None` without parts.
///
/// The scores of all factors, 0 to 100 percent each, are multiplied together
/// (`storie-index-data-note`). Kept for comparison only: with some twenty needs the product is
/// near 0 for every plant.
#[must_use]
pub fn storie(parts: &[Part]) -> Option<f64> {
    if parts.is_empty() {
        return None;
    }
    Some(100.0 * parts.iter().map(|part| part.share()).product::<f64>())
}

/// Simple limitation method: the lowest class among the needs. `None` without levels.
///
/// The law of the minimum (`corrected-land-index-importance`, abstract).
#[must_use]
pub fn simple_limitation(levels: &[Level]) -> Option<Class> {
    levels.iter().max().map(|worst| Class::from_worst(*worst))
}

/// Class by number and intensity of limitations. `None` without levels.
///
/// S1: at most 4 slight ones. S2: more slight ones, or at most 3 moderate. S3: more moderate ones,
/// or at most 2 severe. N: more severe ones, or a very severe one. Kept for comparison only.
/// Counts from memory: that the method exists beside simple limitation is in
/// `corrected-land-index-importance`, its counts stand in a table that could not be read.
#[must_use]
pub fn number_and_intensity(levels: &[Level]) -> Option<Class> {
    if levels.is_empty() {
        return None;
    }
    let count = |name| levels.iter().filter(|level| level.name() == name).count();
    let very_severe = count(LevelName::VerySevere) + count(LevelName::Excluding);
    let severe = count(LevelName::Severe);
    let moderate = count(LevelName::Moderate);
    let slight = count(LevelName::Slight);
    Some(if very_severe > 0 || severe > 2 {
        Class::N
    } else if severe > 0 || moderate > 3 {
        Class::S3
    } else if moderate > 0 || slight > 4 {
        Class::S2
    } else {
        Class::S1
    })
}

/// The square root index corrected into the band of the class.
///
/// With every weight 1 and no saving this is
///
/// ```text
/// corrected = low + (R_min - low) x sqrt(A/100 x B/100 x ...)
/// ```
///
/// where `low` is the lower end of the band ([`Class::band`]), R_min the rating of the worst need
/// and A, B ... the ratings of all others: the square root index, measured from the floor of the
/// class instead of from 0. In class N, whose floor is 0, it is the uncorrected index.
///
/// With weights each class-bearing need j takes its turn as the worst one, and the least value
/// counts, so that swapping the roles of two needs can never raise the index:
///
/// ```text
/// corrected = low + (high - low) x min over j of t_j^w_j x sqrt(product over i != j of (R_i/100)^w_i)
/// t_j = (R_j - low) / (high - low)
/// ```
///
/// Why not the published functions: both papers hold that an index must be corrected by the lowest
/// rating before a class is read from it, and the second asks for functions without a break also in
/// N (`corrected-land-index-importance`, `-functions`, abstracts); their tables of functions could not be
/// read. This one is our own and keeps what they ask for: it lies in the band, is continuous in
/// every rating within a class (N1 and N2 being one stretch), falls when any rating falls, and
/// reaches R_min where all else is perfect. Crossing a border downwards it drops
/// by the width of the worse band times what sqrt(A/100 x B/100 x ...) lacks to 1: not at all where
/// all else is perfect. A function without that drop would have to give every candidate whose
/// worst need lies on a border the same index, whatever its other needs; [`corrected_within`] spreads
/// the drop over the stretch in which the class is printed as two.
#[must_use]
pub fn corrected(class: Class, parts: &[Part]) -> f64 {
    let band = class.band();
    let position = |rating: Rating| ((rating.value() - band.low) / band.width()).max(0.0);
    // Powers are dear and products are cheap: every share is computed once.
    let shares: Vec<f64> = parts.iter().map(|part| part.share()).collect();
    let others_than = |worst_at: usize| -> f64 {
        shares.iter().enumerate().filter(|(at, _)| *at != worst_at).map(|(_, share)| share).product()
    };
    let least = parts
        .iter()
        .enumerate()
        .filter(|(_, part)| part.bears_class)
        .map(|(at, part)| position(part.rating).powf(part.weight.value()) * others_than(at).sqrt())
        .min_by(f64::total_cmp)
        .unwrap_or(1.0);
    // Above 1 only when the class given is worse than the ratings alone would give.
    band.low + band.width() * least.min(1.0)
}

/// The index near a border, where the class is printed as two: between [`corrected`] for the better
/// and for the worse class, by where the worst level lies from a tenth above the border to a tenth
/// below it, so that a small step across the border is a small step of the index.
///
/// A refusal is no matter of a tenth: on the border of S3 and N the index is that of the class.
#[must_use]
pub fn corrected_within(span: ClassSpan, class: Class, worst: Level, parts: &[Part]) -> f64 {
    let Some(border) = span.border().filter(|_| !span.worse.is_refused()) else {
        return corrected(class, parts);
    };
    let from = border.value() - BORDER_DISTANCE;
    let share = ((worst.value() - from) / (2.0 * BORDER_DISTANCE)).clamp(0.0, 1.0);
    (1.0 - share) * corrected(span.better, parts) + share * corrected(span.worse, parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(ratings: &[f64]) -> Vec<Part> {
        ratings.iter().map(|r| Part::plain(Rating::new(*r).unwrap())).collect()
    }

    fn weighted(rating: f64, weight: f64) -> Part {
        Part { weight: Weight::new(weight).unwrap(), ..Part::plain(Rating::new(rating).unwrap()) }
    }

    fn levels(values: &[f64]) -> Vec<Level> {
        values.iter().map(|v| Level::new(*v).unwrap()).collect()
    }

    #[track_caller]
    fn near(got: f64, wanted: f64) {
        assert!((got - wanted).abs() < 5e-4, "{got} instead of {wanted}");
    }

    /// Computed by hand from the equation, not read in a source.
    #[test]
    fn square_root_by_hand() {
        // 60 x sqrt(0.85 x 0.95 x 1) = 60 x sqrt(0.8075) = 60 x 0.898610
        near(square_root(&parts(&[85.0, 60.0, 95.0, 100.0])).unwrap(), 53.9166);
        near(square_root(&parts(&[72.0])).unwrap(), 72.0);
        near(square_root(&parts(&[0.0, 90.0])).unwrap(), 0.0);
        // 81 = 100 x 0.9^2 is the worst one; 81 x sqrt(0.85) = 81 x 0.921954
        near(square_root(&[weighted(90.0, 2.0), weighted(85.0, 1.0)]).unwrap(), 74.6783);
        // weight 0: taken out
        near(square_root(&[weighted(10.0, 0.0), weighted(85.0, 1.0)]).unwrap(), 85.0);
        assert_eq!(square_root(&[weighted(10.0, 0.0)]), None);
        assert_eq!(square_root(&[]), None);
    }

    /// `storie-index-data-note`: scores are multiplied together. Figures computed by hand.
    #[test]
    fn storie_by_hand() {
        // 0.85 x 0.60 x 0.95 = 0.4845
        near(storie(&parts(&[85.0, 60.0, 95.0])).unwrap(), 48.45);
        assert_eq!(storie(&[]), None);
    }

    /// `new-parametric-concept-2013`, page 1: the square root method commonly gives more than Storie's.
    #[test]
    fn square_root_is_above_storie() {
        for ratings in [&[85.0, 60.0, 95.0][..], &[40.0, 20.0], &[97.0, 96.0, 95.0, 94.0]] {
            assert!(square_root(&parts(ratings)).unwrap() > storie(&parts(ratings)).unwrap());
        }
    }

    /// `corrected-land-index-importance`, abstract: the lowest class of the single characteristics.
    #[test]
    fn simple_limitation_takes_the_lowest_class() {
        assert_eq!(simple_limitation(&levels(&[0.2, 2.4, 1.0])), Some(Class::S2));
        assert_eq!(simple_limitation(&levels(&[0.2, 2.4, 4.0])), Some(Class::N));
        assert_eq!(simple_limitation(&[]), None);
    }

    /// Counts from memory.
    #[test]
    fn number_and_intensity_counts() {
        for (values, class) in [
            (&[1.0, 1.0, 1.5, 1.9, 0.0][..], Class::S1),
            (&[1.0, 1.0, 1.5, 1.9, 1.0], Class::S2),
            (&[2.0, 2.0, 2.9], Class::S2),
            (&[2.0, 2.0, 2.9, 2.1], Class::S3),
            (&[3.0, 3.9], Class::S3),
            (&[3.0, 3.9, 3.2], Class::N),
            (&[4.0], Class::N),
            (&[5.0], Class::N),
        ] {
            assert_eq!(number_and_intensity(&levels(values)), Some(class), "{values:?}");
        }
        assert_eq!(number_and_intensity(&[]), None);
    }

    #[test]
    fn correction_by_hand() {
        // S2: 60 + (75 - 60) x sqrt(0.95 x 0.95) = 60 + 15 x 0.95
        near(corrected(Class::S2, &parts(&[75.0, 95.0, 95.0])), 74.25);
        // The uncorrected index of the same needs, 75 x 0.95, would lie lower.
        near(square_root(&parts(&[75.0, 95.0, 95.0])).unwrap(), 71.25);
        // S1: many needs at 95 pull the uncorrected index to 95 x sqrt(0.95^9) = 75.419, an S2
        // value; corrected 85 + 10 x sqrt(0.95^9) = 85 + 10 x 0.793883
        near(square_root(&parts(&[95.0; 10])).unwrap(), 75.4188);
        near(corrected(Class::S1, &parts(&[95.0; 10])), 92.9388);
        // Nothing but one need: the index is its rating.
        near(corrected(Class::S3, &parts(&[52.0])), 52.0);
    }

    /// `corrected-land-index-functions`, abstract: no break within N, so that bad and hopeless stay
    /// distinguishable. Here N is left as it is.
    #[test]
    fn correction_leaves_n_as_it_is() {
        for ratings in [&[30.0, 85.0][..], &[0.0, 85.0], &[40.0, 40.0, 95.0]] {
            near(corrected(Class::N, &parts(ratings)), square_root(&parts(ratings)).unwrap());
        }
    }

    /// Just above a border the index meets the band's floor; just below, what the others lack.
    #[test]
    fn borders_are_crossed_without_a_break_when_all_else_is_perfect() {
        near(corrected(Class::S1, &parts(&[85.0001, 100.0])), 85.0);
        near(corrected(Class::S2, &parts(&[85.0, 100.0])), 85.0);
        // others at 0.81: 60 + 25 x 0.9
        near(corrected(Class::S2, &parts(&[85.0, 81.0 / 0.9, 90.0])), 82.5);
    }

    #[test]
    fn saving_and_weight_in_the_correction() {
        // A saving of 40 is never the worst need: 85 + (90 - 85) x sqrt(0.4) = 85 + 5 x 0.632456
        let saving = Part { bears_class: false, ..weighted(40.0, 1.0) };
        near(corrected(Class::S1, &[weighted(90.0, 1.0), saving]), 88.1623);
        // Weight 0 on the worst need: class S2 stands, the other need alone places it:
        // t = (95 - 60) / 25 = 1.4 against 1 x sqrt(0.95): 60 + 25 x 0.974679
        near(corrected(Class::S2, &[weighted(70.0, 0.0), weighted(95.0, 1.0)]), 84.3670);
        // Weight 2 on the worst need: t = 10/25 = 0.4, squared 0.16: 60 + 25 x 0.16 x 1
        near(corrected(Class::S2, &[weighted(70.0, 2.0), weighted(100.0, 1.0)]), 64.0);
    }

    #[test]
    fn weights_are_checked() {
        for bad in [-0.1, 5.1, f64::NAN, f64::INFINITY] {
            assert!(Weight::new(bad).is_none());
        }
        assert_eq!(Weight::default(), Weight::ONE);
    }
}
