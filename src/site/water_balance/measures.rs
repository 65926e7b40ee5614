//! What a run of the balance says of a species: how far its need is met, and how long it wilts.

use crate::site::soil_water::{MonthWater, WaterBalance, Watered};

/// Results of one run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measures {
    /// Share of its need met in the worst three months in a row, 0 to 1. A whole year would flatter a
    /// climate whose rain falls when little is wanted.
    pub driest_quarter_met: f64,
    /// Share of its need met over the whole year, 0 to 1.
    pub year_met: f64,
    /// Share of its unstressed demand that it gets, the worst three months in a row and the whole year
    /// alike, 0 to 1: beyond its need it is water in hand.
    pub demand_met: f64,
    /// Days a year on which the unstressed demand was not met.
    pub stress_days: f64,
    /// Run of days at wilting that one year in ten brings; under a season's cap, with its water kept back for
    /// that.
    pub longest_wilting_d: f64,
}

impl Measures {
    /// Of a plant that keeps acceptable cover on that share of its demand: each result by whichever schedule
    /// serves it best, since whoever waters may choose.
    pub fn of(watered: &Watered, of_demand: f64) -> Self {
        let schedules = watered.schedules.iter().map(|balance| Looks::of(balance, of_demand));
        let best = schedules.reduce(Looks::or_better).unwrap_or_default();
        Self {
            driest_quarter_met: best.driest_quarter_met,
            year_met: best.year_met,
            demand_met: best.demand_met,
            stress_days: best.stress_days,
            longest_wilting_d: watered.wilting_run,
        }
    }

    /// The schedule that meets most of the demand.
    pub fn looks_best(watered: &Watered, of_demand: f64) -> Option<&WaterBalance> {
        let met = |balance: &WaterBalance| Looks::of(balance, of_demand).demand_met;
        watered.schedules.iter().max_by(|a, b| met(a).total_cmp(&met(b)))
    }
}

/// How far one schedule keeps up the looks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Looks {
    driest_quarter_met: f64,
    year_met: f64,
    demand_met: f64,
    stress_days: f64,
}

impl Looks {
    /// What a month brings beyond its need helps no other month.
    fn of(balance: &WaterBalance, of_demand: f64) -> Self {
        let wanted = balance.months.each_ref().map(|month: &MonthWater| month.etc * of_demand);
        let got: [f64; 12] = std::array::from_fn(|month| balance.months[month].eta.min(wanted[month]));
        let demand = balance.months.each_ref().map(|month: &MonthWater| month.etc);
        let used = balance.months.each_ref().map(|month: &MonthWater| month.eta);
        let worst_quarter = |got: &[f64; 12], wanted: &[f64; 12]| {
            (0..12).map(|first| share(got, wanted, first, 3)).fold(1.0, f64::min)
        };
        Self {
            driest_quarter_met: worst_quarter(&got, &wanted),
            demand_met: f64::midpoint(worst_quarter(&used, &demand), share(&used, &demand, 0, 12)),
            year_met: share(&got, &wanted, 0, 12),
            stress_days: balance.stress_days,
        }
    }

    fn or_better(self, other: Self) -> Self {
        Self {
            driest_quarter_met: self.driest_quarter_met.max(other.driest_quarter_met),
            year_met: self.year_met.max(other.year_met),
            demand_met: self.demand_met.max(other.demand_met),
            stress_days: self.stress_days.min(other.stress_days),
        }
    }
}

/// Share of what is wanted in some months in a row, round the year; 1 where nothing is.
fn share(got: &[f64; 12], wanted: &[f64; 12], first: usize, months: usize) -> f64 {
    let sum = |of: &[f64; 12]| (first..first + months).map(|month| of[month % 12]).sum::<f64>();
    let all = sum(wanted);
    if all > 0.0 { sum(got) / all } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn year(months: [MonthWater; 12]) -> WaterBalance {
        WaterBalance {
            days_per_week: 0,
            years: 1,
            months,
            stress_days: 0.0,
            wilting_days: 0.0,
            longest_wilting_run: 0,
            one_in_ten_years_run: 0.0,
            yearly_wilting_runs: vec![0.0],
            mean_yearly_wilting_run: 0.0,
            eta_mm: 0.0,
            etc_mm: 0.0,
            et_share: 0.0,
            irrigation_mm: 0.0,
            deep_percolation_mm: 0.0,
            runoff_mm: 0.0,
        }
    }

    #[test]
    fn the_driest_quarter_goes_round_the_year() {
        let mut months = [MonthWater { etc: 50.0, eta: 50.0, ..MonthWater::default() }; 12];
        for month in [11, 0, 1] {
            months[month].eta = 20.0;
        }
        let found = Looks::of(&year(months), 1.0);
        assert!((found.driest_quarter_met - 0.4).abs() < 1e-12);
        assert!((found.year_met - (9.0 * 50.0 + 3.0 * 20.0) / 600.0).abs() < 1e-12);
        let nothing_wanted = Looks::of(&year([MonthWater::default(); 12]), 1.0);
        assert_eq!((nothing_wanted.driest_quarter_met, nothing_wanted.year_met), (1.0, 1.0));
    }

    /// A plant that keeps its looks on half of what it would take is content with half.
    #[test]
    fn the_need_for_looks_is_less_than_the_demand() {
        let months = [MonthWater { etc: 80.0, eta: 40.0, ..MonthWater::default() }; 12];
        assert_eq!(Looks::of(&year(months), 0.5).driest_quarter_met, 1.0);
        assert_eq!(Looks::of(&year(months), 1.0).driest_quarter_met, 0.5);
        // plenty in one month does not make up for the next
        let mut uneven = months;
        (uneven[6].eta, uneven[7].eta) = (80.0, 0.0);
        assert!(Looks::of(&year(uneven), 0.5).year_met < 1.0);
    }
}
