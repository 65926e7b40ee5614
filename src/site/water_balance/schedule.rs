//! The ways in which the water allowed may be given, among which whoever waters may choose.

use crate::site::soil_water::Irrigation;
use crate::units::quantity::Millimetres;

/// More days a week than this only split the same water.
const MOST_DAYS: u8 = 2;
/// Depths of one watering that are tried under a season's cap, mm.
const DEPTHS_MM: [f64; 3] = [1.0, 5.0, 20.0];

/// The schedules to try. Without a cap all that is allowed is best. Under a cap fewer days with larger
/// doses may serve better than many small ones, or the other way round; and whoever may water more may
/// always keep to less, so that what is tried for less is tried for more as well and more is never
/// worse. For the same reason depths are those of a list, up to the one allowed.
pub fn schedules(allowed: Irrigation) -> impl Iterator<Item = Irrigation> + Clone {
    let capped = allowed.season_cap.is_some();
    let days = if capped {
        allowed.days_per_week.min(1)..=allowed.days_per_week.min(MOST_DAYS)
    } else {
        allowed.days_per_week..=allowed.days_per_week
    };
    let smallest = allowed.depth.0 < DEPTHS_MM[0];
    let as_allowed = (!capped || smallest).then_some(allowed.depth);
    let depths =
        DEPTHS_MM.into_iter().map(Millimetres).filter(move |depth| capped && depth.0 <= allowed.depth.0);
    let depths = depths.chain(as_allowed);
    days.flat_map(move |days_per_week| {
        depths.clone().map(move |depth| Irrigation { days_per_week, depth, ..allowed })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn allowed(days_per_week: u8, depth: f64, cap: Option<f64>) -> Irrigation {
        Irrigation {
            days_per_week,
            depth: Millimetres(depth),
            season_cap: cap.map(Millimetres),
            efficiency: 1.0,
        }
    }

    #[test]
    fn without_a_cap_what_is_allowed_is_given() {
        assert_eq!(schedules(allowed(5, 12.0, None)).collect::<Vec<_>>(), [allowed(5, 12.0, None)]);
    }

    #[test]
    fn under_a_cap_what_is_tried_for_less_is_tried_for_more() {
        let tried = |days, depth| schedules(allowed(days, depth, Some(200.0))).collect::<Vec<_>>();
        for (days, depth) in [(1, 1.0), (2, 5.0), (2, 12.0), (3, 20.0)] {
            for (more_days, deeper) in [(days, depth + 3.0), (days + 1, depth), (7, 60.0)] {
                let more = tried(more_days, deeper);
                assert!(tried(days, depth).iter().all(|one| more.contains(one)), "{days} d, {depth} mm");
            }
        }
        assert_eq!(tried(1, 0.5), [allowed(1, 0.5, Some(200.0))]);
    }
}
