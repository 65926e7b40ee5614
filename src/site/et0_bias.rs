//! Which way, and how far, a yearly ET0 errs where sun, wind or humidity were not known.
//!
//! The substitutes of FAO-56 chapter 3 and Hargreaves-Samani know nothing of dry wind. Over the places of
//! the gazetteer whose sun, wind and humidity are known the full Penman-Monteith was held against each of
//! them (the test below prints the study and holds the table to it): the drier the place, the more they
//! fall short. Nothing is corrected for it; the expectation stands beside the figure.
//!
//! The stations stand on open ground of airports, where the air of a desert is warmer and drier than over a
//! watered lawn (FAO-56 annex 6, from memory): part of a span may be the station's, so the expectation says
//! likely and is no factor.

use super::et0_monthly::{DRY_CLIMATE_INDEX, Method};

/// Yearly rain over yearly Hargreaves-Samani ET0 below which a climate counts as arid: the upper limit of
/// the arid class of the United Nations' aridity index, from memory.
pub const ARID_INDEX: f64 = 0.2;

/// How dry a climate is, by yearly rain over yearly demand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dryness {
    /// Below [`ARID_INDEX`].
    Arid,
    /// From there to [`DRY_CLIMATE_INDEX`].
    SemiArid,
}

impl Dryness {
    /// The class of an aridity index; `None` where the country is not dry.
    #[must_use]
    pub fn of(aridity: f64) -> Option<Self> {
        match aridity {
            index if index < ARID_INDEX => Some(Self::Arid),
            index if index < DRY_CLIMATE_INDEX => Some(Self::SemiArid),
            _ => None,
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Arid => "arid",
            Self::SemiArid => "semi-arid",
        }
    }
}

/// Least and greatest error of the year's total over the places of a class, %; low is negative.
type Span = (i8, i8);

/// What a method has to do without, and how far it erred at the arid and at the semi-arid places.
struct Row {
    sun: bool,
    wind: bool,
    humidity: bool,
    arid: Span,
    semi_arid: Span,
}

const fn row(known: [bool; 3], arid: Span, semi_arid: Span) -> Row {
    Row { sun: !known[0], wind: !known[1], humidity: !known[2], arid, semi_arid }
}

/// Places of the gazetteer with sun, wind and humidity behind the two spans.
const ARID_PLACES: usize = 5;
const SEMI_ARID_PLACES: usize = 4;

/// Hargreaves-Samani.
const FROM_TEMPERATURE: (Span, Span) = ((-37, -16), (-16, -6));

/// Penman-Monteith, by what is known of sun, wind and humidity.
const WITH_ESTIMATES: [Row; 7] = [
    row([true, true, false], (-20, -8), (-2, 6)),
    row([true, false, true], (-20, -2), (-16, -7)),
    row([true, false, false], (-30, -12), (-13, -5)),
    row([false, true, true], (-5, -1), (-1, 3)),
    row([false, true, false], (-26, -11), (-3, 9)),
    row([false, false, true], (-25, -8), (-13, -7)),
    row([false, false, false], (-36, -16), (-14, -2)),
];

/// How a yearly ET0 of this method is likely to err in country as dry as this, in words; `None` where all
/// was given or the country is not dry. `aridity` is yearly rain over yearly Hargreaves-Samani ET0, where
/// the rain is known.
#[must_use]
pub fn expectation(method: &Method, aridity: Option<f64>) -> Option<String> {
    let (arid, semi_arid) = spans(method)?;
    let Some(aridity) = aridity else {
        return Some(format!("where rain falls far short of demand, likely {}", span_words(arid)));
    };
    let class = Dryness::of(aridity)?;
    let (span, places) = match class {
        Dryness::Arid => (arid, ARID_PLACES),
        Dryness::SemiArid => (semi_arid, SEMI_ARID_PLACES),
    };
    Some(format!(
        "the year's total is likely {} in {} country (against known sun, wind and humidity, at {places} such places of the gazetteer)",
        span_words(span),
        class.words()
    ))
}

/// The spans of a method at arid and at semi-arid places.
fn spans(method: &Method) -> Option<(Span, Span)> {
    let Method::PenmanMonteith(own) = method else { return Some(FROM_TEMPERATURE) };
    WITH_ESTIMATES
        .iter()
        .find(|row| (row.sun, row.wind, row.humidity) == (own.solar, own.wind, own.humidity))
        .map(|row| (row.arid, row.semi_arid))
}

fn span_words((least, greatest): Span) -> String {
    match (least, greatest) {
        (..0, ..=0) => format!("{} to {} % low", -greatest, -least),
        (..0, _) => format!("{} % low to {greatest} % high", -least),
        _ => format!("{least} to {greatest} % high"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::value::Value;
    use crate::knowledge::Knowledge;
    use crate::knowledge::climates::Climate;
    use crate::knowledge::text::KnowledgeText;
    use crate::site::et0_monthly::{Choice, Estimates, Et0Inputs, monthly_et0};
    use crate::site::evapotranspiration::wind_at_2m;
    use crate::site::outside::Outside;
    use crate::site::solar::{KRS_COASTAL, Monthly};
    use crate::units::factors::DAY_S;
    use crate::units::quantity::{Degrees, Metres, MetresPerSecond};

    /// A place with all that the full equation needs.
    struct Whole {
        name: String,
        inputs: Et0Inputs,
    }

    impl Whole {
        fn year(&self, inputs: &Et0Inputs, choice: Choice) -> f64 {
            monthly_et0(inputs, choice).unwrap().year_mm()
        }

        fn full(&self) -> f64 {
            self.year(&self.inputs, Choice::PenmanMonteith)
        }

        fn aridity(&self) -> Option<f64> {
            monthly_et0(&self.inputs, Choice::HargreavesSamani).unwrap().aridity
        }

        /// Error of the year's total with only this known of sun, wind and humidity, %.
        fn error(&self, known: Option<[bool; 3]>) -> f64 {
            let mut poorer = self.inputs.clone();
            let choice = match known {
                None => Choice::HargreavesSamani,
                Some([sun, wind, humidity]) => {
                    poorer.solar_mj_m2_d = poorer.solar_mj_m2_d.filter(|_| sun);
                    poorer.wind_2m_m_s = poorer.wind_2m_m_s.filter(|_| wind);
                    poorer.rh_pct = poorer.rh_pct.filter(|_| humidity);
                    Choice::PenmanMonteith
                }
            };
            (self.year(&poorer, choice) / self.full() - 1.0) * 100.0
        }
    }

    fn of_gazetteer() -> Vec<Whole> {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let whole = |place: &Climate| {
            let value = |key: &str| {
                let at = knowledge.vocabulary.slot(&format!("site.{key}"))?.index;
                place.values.iter().find(|(own, _)| *own == at).map(|(_, value)| value)
            };
            let months = |key: &str| -> Option<Monthly> { value(key)?.as_months().copied() };
            let scaled = |key: &str, by: f64| months(key).map(|own| own.map(|month| month * by));
            let mut inputs = Et0Inputs::new(
                Degrees(place.latitude_deg),
                Metres(place.elevation_m),
                months("tmax_c")?,
                months("tmin_c")?,
            );
            inputs.solar_mj_m2_d = Some(months("solar_mj_m2_d")?);
            inputs.wind_2m_m_s = Some(scaled("wind_m_s", 1.0 / DAY_S)?);
            inputs.rh_pct = Some(scaled("rh_pct", 100.0)?);
            inputs.precip_mm = scaled("precip_mm", 1000.0);
            if value("coast").and_then(Value::as_flag) == Some(true) {
                inputs.krs = KRS_COASTAL;
            }
            Some(Whole { name: place.name.clone(), inputs })
        };
        knowledge.climates.iter().filter_map(whole).collect()
    }

    fn span(places: &[&Whole], known: Option<[bool; 3]>) -> Span {
        let errors: Vec<f64> = places.iter().map(|place| place.error(known)).collect();
        let round = |error: f64| error.round() as i8;
        (
            round(errors.iter().copied().fold(f64::MAX, f64::min)),
            round(errors.iter().copied().fold(f64::MIN, f64::max)),
        )
    }

    /// The study behind the table, printed, and that the table is what it gives.
    #[test]
    fn the_table_is_what_the_gazetteer_gives() {
        let places = of_gazetteer();
        println!("year's ET0 of places whose sun, wind and humidity are known");
        for place in &places {
            println!(
                "  {:<22} rain over demand {:.2}, all inputs {:4.0} mm, Hargreaves-Samani {:+3.0} %, Penman-Monteith of temperature {:+3.0} %, without wind {:+3.0} %",
                place.name,
                place.aridity().unwrap(),
                place.full(),
                place.error(None),
                place.error(Some([false; 3])),
                place.error(Some([true, false, true]))
            );
        }
        let of = |class| -> Vec<&Whole> {
            places.iter().filter(|place| Dryness::of(place.aridity().unwrap()) == class).collect()
        };
        let (arid, semi_arid, other) = (of(Some(Dryness::Arid)), of(Some(Dryness::SemiArid)), of(None));
        assert_eq!((arid.len(), semi_arid.len()), (ARID_PLACES, SEMI_ARID_PLACES));
        let show = |name: &str, known| {
            let spans = [&arid, &semi_arid, &other].map(|places| span(places, known));
            println!(
                "  {name:<28} arid {:?} %, semi-arid {:?} %, other {:?} %",
                spans[0], spans[1], spans[2]
            );
            (spans[0], spans[1])
        };
        assert_eq!(show("Hargreaves-Samani", None), FROM_TEMPERATURE);
        let rows = WITH_ESTIMATES.iter().map(|row| {
            let known = [!row.sun, !row.wind, !row.humidity];
            (
                known,
                show(&format!("known sun, wind, humidity {known:?}"), Some(known)),
                (row.arid, row.semi_arid),
            )
        });
        let rows: Vec<_> = rows.collect();
        for (known, found, stated) in rows {
            assert_eq!(found, stated, "{known:?}");
        }
    }

    /// The drier, the more temperature alone falls short: rank correlation of the two over all places.
    #[test]
    fn temperature_alone_falls_short_the_more_the_drier() {
        let mut places = of_gazetteer();
        places.sort_by(|a, b| a.aridity().unwrap().total_cmp(&b.aridity().unwrap()));
        let errors: Vec<f64> = places.iter().map(|place| place.error(None)).collect();
        let mut concordant = 0;
        let mut pairs = 0;
        for (at, drier) in errors.iter().enumerate() {
            for wetter in &errors[at + 1..] {
                pairs += 1;
                concordant += i32::from(drier < wetter);
            }
        }
        assert!(f64::from(concordant) > 0.75 * f64::from(pairs), "{concordant} of {pairs}");
        assert!(errors[..9].iter().all(|error| *error < -5.0), "{errors:?}");
    }

    /// Outside check, where the folder is named: typical years of ten places, none of them dry but Tucson.
    #[test]
    fn typical_years_outside_the_gazetteer() {
        let Some(table) = Outside::read("normals.csv", "typical years with sun, wind and humidity") else {
            return;
        };
        for place in table.places() {
            let months = |key: &str| place.months(key);
            let (Some(solar), Some(wind), Some(humidity)) =
                (months("solar_mj_m2_d"), months("wind_m_s"), months("rh_pct"))
            else {
                continue;
            };
            let factor = wind_at_2m(MetresPerSecond(1.0), Metres(place.number("wind_height_m"))).0;
            let mut inputs = Et0Inputs::new(
                Degrees(place.number("latitude_deg")),
                Metres(place.number("elevation_m")),
                months("tmax_c").unwrap(),
                months("tmin_c").unwrap(),
            );
            inputs.solar_mj_m2_d = Some(solar);
            inputs.wind_2m_m_s = Some(wind.map(|speed| speed * factor));
            inputs.rh_pct = Some(humidity);
            let name = place.text("place").to_owned();
            let place = Whole { name, inputs };
            let error = place.error(None);
            println!("  {:<22} {:.0} mm, Hargreaves-Samani {error:+.0} %", place.name, place.full());
            assert!(error.abs() < 35.0, "{}: {error}", place.name);
            if place.name.starts_with("Tucson") {
                let ((low, high), _) = FROM_TEMPERATURE;
                assert!((f64::from(low)..=f64::from(high)).contains(&error), "{error}");
            }
        }
    }

    #[test]
    fn an_expectation_is_signed_and_stands_in_dry_country_only() {
        let all_given = Method::PenmanMonteith(Estimates::default());
        assert_eq!(expectation(&all_given, Some(0.1)), None);
        assert_eq!(expectation(&Method::HargreavesSamani, Some(0.9)), None);
        let words = |method, aridity| expectation(&method, aridity).unwrap();
        let arid = words(Method::HargreavesSamani, Some(0.12));
        assert!(arid.contains("likely 16 to 37 % low in arid country"), "{arid}");
        assert!(arid.contains("at 5 such places of the gazetteer"), "{arid}");
        let semi_arid = words(Method::HargreavesSamani, Some(0.3));
        assert!(semi_arid.contains("likely 6 to 16 % low in semi-arid country"), "{semi_arid}");
        let unknown = words(Method::HargreavesSamani, None);
        assert!(
            unknown.starts_with("where rain falls far short of demand, likely 16 to 37 % low"),
            "{unknown}"
        );
        let no_humidity = Estimates { humidity: true, dry_climate: true, ..Estimates::default() };
        let both_ways = words(Method::PenmanMonteith(no_humidity), Some(0.3));
        assert!(both_ways.contains("likely 2 % low to 6 % high"), "{both_ways}");
    }
}
