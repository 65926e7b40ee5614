//! How far the mean annual extreme minimum of another place may be from that of the site.
//!
//! Leave-one-out over the built-in gazetteer (the test below prints the study): each of its places is
//! given the minimum of every other place within the distance and height that `near = true` allows
//! (pairs of a dry coast and the country behind it, which it refuses, are left out), estimated from the coldest month (see [`super::hardiness`]) and brought to its own height. The
//! squared error grows with the distance and a little with the difference of height; where the height of the
//! site is not known it grows twice as fast with the distance, since nothing is brought to a height.

/// Square of the error for a kilometre of distance between heights that are known, K2: least squares
/// over the 205 pairs of the gazetteer within 250 km and 600 m (root mean square error of all 3.1 K).
const FOR_A_KM: f64 = 0.051;
/// The same for 100 m of difference of height, after the temperatures were brought to it, K2.
const FOR_100_M: f64 = 0.053;
/// Square of the error for a kilometre where the height of the site is not known, K2: the 214 pairs
/// within 250 km, of any height, nothing brought to it (root mean square error of all 4.4 K).
const FOR_A_KM_OF_UNKNOWN_HEIGHT: f64 = 0.104;

/// Distance that counts as much as 100 m of height where a place is chosen, km (common practice). Once brought to
/// the height of the site the lowest night hardly tells heights apart, but rain and snow do.
const KM_FOR_100_M: f64 = 13.0;

/// Distance that counts as much as a difference of height of so many metres where a place is chosen, km.
#[must_use]
pub fn km_for_height(metres: f64) -> f64 {
    KM_FOR_100_M * metres.abs() / 100.0
}

/// How far the place that lends lies from the site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lending {
    /// Distance, km.
    pub km: f64,
    /// How much higher the place lies, m, where the height of the site is known.
    pub higher: Option<f64>,
}

impl Lending {
    /// Standard error of the place's mean annual extreme minimum as that of the site, K.
    #[must_use]
    pub fn error_k(&self) -> f64 {
        let square = match self.higher {
            Some(metres) => FOR_A_KM * self.km + FOR_100_M * metres.abs() / 100.0,
            None => FOR_A_KM_OF_UNKNOWN_HEIGHT * self.km,
        };
        square.sqrt()
    }

    /// Standard error of an estimate of error `own`, K, that was made from the place's figures.
    #[must_use]
    pub fn error_with(&self, own: f64) -> f64 {
        self.error_k().hypot(own)
    }

    /// What the error comes from.
    #[must_use]
    pub fn words(&self) -> String {
        let height = match self.higher {
            Some(metres) => format!("and {:.0} m of height", metres.abs()),
            None => "to a site of unknown height".to_owned(),
        };
        format!("{:.1} K of it for {:.0} km {height}", self.error_k(), self.km)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::Knowledge;
    use crate::knowledge::climates::Climate;
    use crate::knowledge::text::KnowledgeText;
    use crate::site::hardiness::{HardinessZone, estimate_extreme_minimum};
    use crate::site::nearest::search::{COAST_REACHES_KM, cooled_by_the_sea, summer_facts};
    use crate::site::nearest::{FARTHEST_KM, GREATEST_HEIGHT_M, LAPSE_K_PER_M, distance_km};
    use crate::site::outside::Outside;
    use crate::units::quantity::Celsius;

    /// One place that stands in for another.
    struct Pair {
        km: f64,
        higher: f64,
        /// Error with the temperatures brought to the height, and as they are, K.
        brought: f64,
        as_is: f64,
        /// Half zones between the two, brought to the height.
        half_zones: u8,
    }

    fn minimum(place: &Climate, tmin_at: usize, warmer: f64) -> f64 {
        let months = place.values.iter().find(|(at, _)| *at == tmin_at).unwrap().1.as_months().unwrap();
        estimate_extreme_minimum(&months.map(|month| month + warmer)).unwrap().minimum.0
    }

    fn zone(minimum: f64) -> u8 {
        HardinessZone::from_extreme_minimum(Celsius(minimum)).unwrap().index()
    }

    fn pairs() -> Vec<Pair> {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let tmin_at = knowledge.vocabulary.slot("site.tmin_c").unwrap().index;
        let places = &knowledge.climates;
        let summer = summer_facts(&knowledge);
        let coast = |one: &Climate| {
            one.values.iter().any(|(at, value)| Some(*at) == summer[0] && value.as_flag() == Some(true))
        };
        let behind = |sea: &Climate, land: &Climate| cooled_by_the_sea(sea, summer) && !coast(land);
        let mut pairs = Vec::new();
        for (first, site) in places.iter().enumerate() {
            for place in &places[first + 1..] {
                let of = |one: &Climate| (one.latitude_deg, one.longitude_deg);
                let km = distance_km(of(site), of(place));
                let across = behind(site, place) || behind(place, site);
                if km > FARTHEST_KM || km > COAST_REACHES_KM && across {
                    continue;
                }
                let higher = place.elevation_m - site.elevation_m;
                let own = minimum(site, tmin_at, 0.0);
                let lent = minimum(place, tmin_at, higher * LAPSE_K_PER_M);
                pairs.push(Pair {
                    km,
                    higher,
                    brought: lent - own,
                    as_is: minimum(place, tmin_at, 0.0) - own,
                    half_zones: zone(lent).abs_diff(zone(own)),
                });
            }
        }
        pairs
    }

    fn rms(errors: impl Iterator<Item = f64>) -> (usize, f64) {
        let squares: Vec<f64> = errors.map(|error| error * error).collect();
        (squares.len(), (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt())
    }

    /// The study behind the three constants, printed, and that they are what it gives.
    #[test]
    fn leave_one_out_over_the_gazetteer() {
        let pairs = pairs();
        let allowed: Vec<&Pair> =
            pairs.iter().filter(|pair| pair.higher.abs() <= GREATEST_HEIGHT_M).collect();
        println!("mean annual extreme minimum lent by another place, root mean square error");
        for (from, to) in [(0.0, 150.0), (150.0, 200.0), (200.0, FARTHEST_KM)] {
            let within = |pair: &&Pair| (from..=to).contains(&pair.km);
            let (count, error) = rms(allowed.iter().copied().filter(within).map(|pair| pair.brought));
            let (all, plain) = rms(pairs.iter().filter(within).map(|pair| pair.as_is));
            println!(
                "  {from:.0} to {to:.0} km: {error:.1} K ({count} pairs); height unknown {plain:.1} K ({all} pairs)"
            );
        }
        for (from, to) in [(0.0, 100.0), (100.0, 300.0), (300.0, GREATEST_HEIGHT_M)] {
            let within = |pair: &&&Pair| (from..to).contains(&pair.higher.abs());
            let (count, error) = rms(allowed.iter().filter(within).map(|pair| pair.brought));
            println!("  {from:.0} to {to:.0} m of height: {error:.1} K ({count} pairs)");
        }
        let share = |most: u8| allowed.iter().filter(|pair| pair.half_zones <= most).count();
        println!(
            "  of {} pairs the half zone is the same in {}, within one in {}, within two in {}",
            allowed.len(),
            share(0),
            share(1),
            share(2)
        );
        // least squares of the squared error on distance and height, without a constant
        let [mut xx, mut xy, mut yy, mut xe, mut ye] = [0.0; 5];
        for pair in &allowed {
            let (x, y, e) = (pair.km, pair.higher.abs() / 100.0, pair.brought * pair.brought);
            xx += x * x;
            xy += x * y;
            yy += y * y;
            xe += x * e;
            ye += y * e;
        }
        let determinant = xx * yy - xy * xy;
        let (for_km, for_100_m) = ((xe * yy - ye * xy) / determinant, (ye * xx - xe * xy) / determinant);
        let squares: f64 = pairs.iter().map(|pair| pair.as_is * pair.as_is).sum();
        let unknown = squares / pairs.iter().map(|pair| pair.km).sum::<f64>();
        println!(
            "  squared error {for_km:.4} K2/km and {for_100_m:.2} K2 for 100 m; height unknown {unknown:.4} K2/km"
        );
        for (own, wanted) in
            [(FOR_A_KM, for_km), (FOR_100_M, for_100_m), (FOR_A_KM_OF_UNKNOWN_HEIGHT, unknown)]
        {
            assert!((own / wanted - 1.0).abs() < 0.15, "{own} stands in the code, the places give {wanted}");
        }
    }

    #[test]
    fn the_error_grows_with_distance_and_height_and_where_the_height_is_unknown() {
        let error = |km, higher| Lending { km, higher }.error_with(1.6);
        assert_eq!(error(0.0, Some(0.0)), 1.6);
        let mut last = 0.0;
        for km in 0..=25 {
            let km = f64::from(km) * 10.0;
            assert!(error(km, Some(0.0)) > last && error(km, None) >= error(km, Some(0.0)));
            assert!(error(km, Some(200.0)) > error(km, Some(0.0)));
            assert_eq!(error(km, Some(200.0)), error(km, Some(-200.0)));
            last = error(km, Some(0.0));
        }
        // 0.051 * 100 + 0.053 * 2 = 5.206; 0.104 * 100 = 10.4
        assert!((Lending { km: 100.0, higher: Some(-200.0) }.error_k() - 5.206_f64.sqrt()).abs() < 1e-12);
        assert!((Lending { km: 100.0, higher: None }.error_k() - 10.4_f64.sqrt()).abs() < 1e-12);
    }

    /// Outside check, where the folder is named: 331 postal areas with the zone of the USDA map of 2023,
    /// heights unknown, against the nearest place of the gazetteer. The middle of a half zone is taken
    /// for its truth, which errs by 0.8 K (2.8 K wide, evenly spread).
    #[test]
    fn postal_areas_of_the_zone_map_fall_inside_the_error() {
        let Some(table) = Outside::read("hardiness.csv", "331 postal areas of the zone map") else { return };
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let tmin_at = knowledge.vocabulary.slot("site.tmin_c").unwrap().index;
        let mut found = Vec::new();
        for area in table.rows() {
            let (low, high) = (area.number("low_c"), area.number("high_c"));
            let position = (area.number("latitude_deg"), area.number("longitude_deg"));
            let km_of = |one: &Climate| distance_km(position, (one.latitude_deg, one.longitude_deg));
            let nearest = knowledge.climates.iter().min_by(|a, b| km_of(a).total_cmp(&km_of(b))).unwrap();
            if km_of(nearest) > FARTHEST_KM {
                continue;
            }
            let lending = Lending { km: km_of(nearest), higher: None };
            let months = nearest.values.iter().find(|(at, _)| *at == tmin_at).unwrap().1.as_months().unwrap();
            let estimate = estimate_extreme_minimum(months).unwrap();
            let error = lending.error_with(estimate.standard_error.0);
            found.push((lending.km, estimate.minimum.0 - f64::midpoint(low, high), error));
        }
        let shares = |most: f64| {
            found.iter().filter(|one| one.1.abs() < most * one.2.hypot(0.8)).count() as f64
                / found.len() as f64
        };
        let (count, error) = rms(found.iter().map(|one| one.1));
        let (_, scaled) = rms(found.iter().map(|one| one.1 / one.2.hypot(0.8)));
        println!("{count} postal areas: {error:.1} K off, {scaled:.2} of the error stated");
        for (from, to) in [(0.0, 30.0), (30.0, 100.0), (100.0, 150.0), (150.0, 250.0)] {
            let within = || found.iter().filter(|one| (from..to).contains(&one.0));
            let ((count, error), (_, stated)) =
                (rms(within().map(|one| one.1)), rms(within().map(|one| one.2)));
            println!("  {from:.0} to {to:.0} km: {error:.1} K off, {stated:.1} K stated ({count})");
        }
        println!("  within one error {:.2}, within two {:.2}", shares(1.0), shares(2.0));
        assert!((0.7..1.2).contains(&scaled), "{scaled}");
        assert!(shares(1.0) > 0.65 && shares(2.0) > 0.93);
    }
}
