//! Properties of the engine over the real knowledge with random sites.

use proptest::prelude::*;

use super::trace::{Detail, replay};
use crate::diag::Source;
use crate::knowledge::Knowledge;
use crate::knowledge::text::KnowledgeText;

/// Random answers to some of the questions of the real vocabulary, as a site file.
fn random_site() -> impl Strategy<Value = String> {
    let soil =
        (prop::option::of(4.0f64..9.0), prop::option::of(5.0f64..150.0), prop::option::of(0.0f64..12.0));
    let words = (
        prop::option::of(0usize..10),
        prop::option::of(0usize..4),
        prop::option::of(0usize..3),
        prop::option::of(0usize..3),
    );
    let climate = prop::option::of((-15.0f64..15.0, 5.0f64..26.0, 0.0f64..200.0));
    let flags = prop::collection::vec(prop::option::of(any::<bool>()), 8);
    (soil, words, climate, flags).prop_map(
        |((ph, depth, ec), (purpose, light, water, wear), climate, flags)| {
            const PURPOSES: [&str; 10] = [
                "lawn",
                "lawn-substitute",
                "sports-field",
                "golf-fairway",
                "park",
                "roadside",
                "slope-cover",
                "shade-cover",
                "meadow",
                "path",
            ];
            let mut text = String::from("schema = 1\n");
            let mut line = |section: &str, key: &str, value: Option<String>| {
                if let Some(value) = value {
                    text.push_str(&format!(
                        "{section}{}{key} = {value}\n",
                        if section.is_empty() { "" } else { "." }
                    ));
                }
            };
            line("", "purpose", purpose.map(|at| format!("\"{}\"", PURPOSES[at])));
            line("soil", "ph", ph.map(|n| format!("{n:.1}")));
            line("soil", "depth_cm", depth.map(|n| format!("{n:.0}")));
            line("soil", "ec_ds_m", ec.map(|n| format!("{n:.1}")));
            line(
                "light",
                "exposure",
                light.map(|at| format!("\"{}\"", ["full-sun", "part-shade", "shade", "dense-shade"][at])),
            );
            line("water", "irrigation", water.map(|at| format!("\"{}\"", ["none", "limited", "full"][at])));
            line("use", "wear", wear.map(|at| format!("\"{}\"", ["none", "moderate", "heavy"][at])));
            if let Some((winter, range, rain)) = climate {
                let months = |shift: f64| {
                    let month = |m: usize| {
                        winter
                            + range / 2.0 * (1.0 - ((m as f64 - 0.5) / 6.0 * std::f64::consts::PI).cos())
                            + shift
                    };
                    format!(
                        "[{}]",
                        (0..12).map(|m| format!("{:.1}", month(m))).collect::<Vec<_>>().join(", ")
                    )
                };
                line("climate", "tmax_c", Some(months(6.0)));
                line("climate", "tmin_c", Some(months(-6.0)));
                line(
                    "climate",
                    "precip_mm",
                    Some(format!("[{}]", vec![format!("{rain:.0}"); 12].join(", "))),
                );
                line("place", "latitude_deg", Some("38".to_owned()));
            }
            let names = [
                ("wishes", "accept_dormant"),
                ("ground", "tree_roots"),
                ("ground", "near_water"),
                ("wishes", "natives"),
                ("concerns", "pets"),
                ("ground", "fire_hazard"),
                ("soil", "stays_moist"),
                ("concerns", "deer"),
            ];
            for ((section, key), flag) in names.iter().zip(flags) {
                line(section, key, flag.map(|flag| flag.to_string()));
            }
            text
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Over the real knowledge: levels stay in bounds, the class is that of the worst need, and the
    /// trace of every candidate replayed gives its levels.
    #[test]
    fn random_sites_hold_together(text in random_site()) {
        thread_local!(static KNOWLEDGE: Knowledge = Knowledge::load(&KnowledgeText::embedded()).map_err(|f| format!("{f:?}")).unwrap().0);
        KNOWLEDGE.with(|knowledge| {
            let source = std::sync::Arc::new(Source { path: "random.toml".into(), text: text.clone().into() });
            let (assessment, _) = crate::assess::assess(&source, knowledge).map_err(|f| crate::diag::render_all(&f, false)).unwrap();
            for candidate in &assessment.candidates {
                let mut worst = 0.0f64;
                for (state, outcome) in candidate.needs.iter().zip(&candidate.outcome.needs) {
                    assert!((0.0..=5.0).contains(&outcome.level), "{text}");
                    for open in &outcome.open {
                        assert!(open.best <= open.mean + 1e-9 && open.mean <= open.worst + 1e-9, "{text}");
                    }
                    if !state.is_saving {
                        worst = worst.max(state.used().value());
                    }
                }
                let class = crate::rank::Class::from_worst(crate::rank::Level::clamped(worst).unwrap());
                assert_eq!(candidate.standing.class, class, "{}: {text}", candidate.species.id);
                let steps = crate::explain::trace_candidate(&assessment, candidate, Detail::Brief);
                let levels: Vec<f64> = candidate.outcome.needs.iter().map(|need| need.level).collect();
                assert_eq!(replay(&steps, levels.len()), levels, "{}: {text}", candidate.species.id);
            }
        });
    }
}
