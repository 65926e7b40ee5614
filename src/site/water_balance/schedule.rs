//! The ways in which the water allowed may be given, among which whoever waters may choose.

use crate::site::soil_water::{Irrigation, Shares};

/// The schedules to try. Without a cap all that is allowed is best. Under a cap a large dose now and then
/// may serve better than many small ones, or the other way round: one day a week, two, and as many as are
/// allowed; and whether most is kept for the months that are shortest of water, or something for every dry
/// spell of the growing season. How much of the depth allowed is given follows from the cap.
pub fn schedules(allowed: Irrigation) -> impl Iterator<Item = Irrigation> + Clone {
    let (most, capped) = (allowed.days_per_week, allowed.season_cap.is_some());
    let days = [1, 2].into_iter().filter(move |days| capped && *days < most).chain([most]);
    let ways: &[Shares] =
        if capped { &[Shares::ByShortage, Shares::ByDemand] } else { &[Shares::ByShortage] };
    ways.iter().flat_map(move |shares| {
        days.clone().map(move |days_per_week| Irrigation { days_per_week, shares: *shares, ..allowed })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::quantity::Millimetres;

    fn allowed(days_per_week: u8, depth: f64, cap: Option<f64>) -> Irrigation {
        Irrigation {
            days_per_week,
            depth: Millimetres(depth),
            season_cap: cap.map(Millimetres),
            shares: Shares::ByShortage,
            efficiency: 1.0,
        }
    }

    #[test]
    fn without_a_cap_what_is_allowed_is_given() {
        assert_eq!(schedules(allowed(5, 12.0, None)).collect::<Vec<_>>(), [allowed(5, 12.0, None)]);
    }

    #[test]
    fn under_a_cap_fewer_days_are_tried_too() {
        let tried = |days| -> Vec<u8> {
            schedules(allowed(days, 15.0, Some(200.0))).map(|one| one.days_per_week).collect()
        };
        assert_eq!(tried(7), [1, 2, 7, 1, 2, 7]);
        assert_eq!((tried(2), tried(1), tried(0)), (vec![1, 2, 1, 2], vec![1, 1], vec![0, 0]));
    }
}
