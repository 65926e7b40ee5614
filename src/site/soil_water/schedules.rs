//! The schedules that an allowance leaves open, and what they make of a plant.

use super::inputs::validate;
use super::kept_alive::kept_alive_run;
use super::needs::{Beside, Wanting, WaterNeeds};
use super::sequence::{Course, Offers, one_in_ten_years, run_years};
use super::{Irrigation, Plant, SiteWater, WaterBalance, WaterError, lesser};

/// What an allowance makes of a plant.
#[derive(Debug, Clone, PartialEq)]
pub struct Watered {
    /// The balance of each schedule. Where no cap binds, of the one on all days of the week allowed: more days
    /// are never worse. Under a season's cap that binds the same water may be spent on fewer days, which at
    /// times serves better, and whoever may water oftener need not: of each number of days from one to those
    /// allowed.
    pub schedules: Vec<WaterBalance>,
    /// Run of days at wilting that is reached or passed in one year of ten, spending the water so in each year
    /// that the run is shortest: by any of the schedules, or under a cap by keeping its water back.
    pub wilting_run: f64,
}

/// Runs the balance over all years, from a full root zone on the first day.
///
/// Monotone: where no cap binds, more days or depth never lower actual evapotranspiration; nor does a higher
/// cap, but for what the search for its level may leave of it. More days never worsen the best of the
/// schedules. A deeper root zone never lowers mean yearly evapotranspiration; nor, without a cap, does it
/// lengthen any run at wilting.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run(site: &SiteWater<'_>, plant: &Plant, irrigation: &Irrigation) -> Result<Watered, WaterError> {
    run_beside(site, plant, irrigation, &mut ())
}

/// The same, and [`super::needs`] of the plant beside it in hardly more time.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run_with_needs(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigation: &Irrigation,
) -> Result<(Watered, WaterNeeds), WaterError> {
    let mut wanting = Wanting::new(plant);
    let watered = run_beside(site, plant, irrigation, &mut wanting)?;
    Ok((watered, wanting.a_year(site, plant)))
}

fn run_beside(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigation: &Irrigation,
    beside: &mut impl Beside,
) -> Result<Watered, WaterError> {
    validate(plant, irrigation)?;
    let days = irrigation.days_per_week.min(7);
    let mut offers = Offers::on([days], irrigation);
    let cap = offers.cap.take();
    let free = run_years(site, plant, &offers, beside);
    let of = (plant, irrigation);
    if cap.is_none_or(|cap| free.most_given[0] <= cap) {
        let balance = free.balance(0, site, of);
        return Ok(Watered { wilting_run: balance.one_in_ten_years_run, schedules: vec![balance] });
    }
    // all run side by side, in few widths
    Ok(match days {
        0 | 1 => under_cap::<1>(site, of),
        2 => under_cap::<2>(site, of),
        3 | 4 => under_cap::<4>(site, of),
        _ => under_cap::<8>(site, of),
    })
}

/// Under a cap that binds: `N` is at least the days allowed.
fn under_cap<const N: usize>(site: &SiteWater<'_>, of: (&Plant, &Irrigation)) -> Watered {
    let (plant, irrigation) = of;
    let allowed = irrigation.days_per_week.clamp(1, 7);
    // what is not allowed repeats what is
    let days: [u8; N] = std::array::from_fn(|at| (at as u8 + 1).min(allowed));
    let course = run_years(site, plant, &Offers::on(days, irrigation), &mut ());
    let schedules: Vec<WaterBalance> =
        (0..usize::from(allowed)).map(|at| course.balance(at, site, of)).collect();
    let mut shortest = shortest_of_each_year(&course);
    let kept_alive = kept_alive_run(site, plant, irrigation, &shortest);
    let wilting_run = kept_alive.unwrap_or_else(|| one_in_ten_years(&mut shortest));
    Watered { schedules, wilting_run }
}

/// The shortest of the longest runs at wilting of each year, whoever waters choosing every year.
fn shortest_of_each_year<const N: usize>(course: &Course<N>) -> Vec<f64> {
    let mut schedules = course.yearly_runs.iter();
    let first = schedules.next().cloned().unwrap_or_default();
    schedules.fold(first, |mut shortest, other| {
        shortest.iter_mut().zip(other).for_each(|(run, other)| *run = lesser(*run, *other));
        shortest
    })
}
