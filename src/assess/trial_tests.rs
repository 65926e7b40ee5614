//! Partial runs against whole ones on the sites of the scenarios: what is left out of a run must not
//! bear on it, what is said to help must help, and what is said to be past help must stay so.

use super::reach::{Reach, reach};
use super::site_levers::is_moot;
use super::trial::{Setting, Trials};
use super::{Assessment, assess_site};
use crate::diag::Source;
use crate::explain::what_if::what_if;
use crate::knowledge::Knowledge;
use crate::knowledge::text::KnowledgeText;
use crate::rank::Class;
use crate::site::SiteDays;
use crate::site::file::{self, LIGHT, SiteFile};
use crate::units::UnitSystem;

/// A plain generator of numbers, so that a failure comes again.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % count.max(1)
    }
}

/// The knowledge base as shipped.
pub fn knowledge() -> Knowledge {
    Knowledge::load(&KnowledgeText::embedded()).unwrap().0
}

/// The same with every third species: what changes do for one is worked out against the best of the others,
/// whoever they are, and running all again takes a third of the time.
pub fn fewer_species() -> Knowledge {
    let mut knowledge = knowledge();
    let mut turns = (0..3).cycle();
    knowledge.species.retain(|_| turns.next() == Some(0));
    knowledge
}

/// The texts of the site files of the scenarios, each with its path.
pub fn site_texts() -> Vec<(String, String)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut paths: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|one| one.unwrap().path().join("site.toml")).collect();
    paths.retain(|path| path.exists());
    paths.sort();
    let text = |path: &std::path::PathBuf| std::fs::read_to_string(path).unwrap();
    paths.iter().map(|path| (path.display().to_string(), text(path))).collect()
}

/// The sites of the scenarios by name.
pub fn sites(knowledge: &Knowledge) -> Vec<(String, SiteFile)> {
    let read = |(path, text): (String, String)| {
        let source = Source { path, text: text.into() };
        let (site, _) = file::read(&std::sync::Arc::new(source), knowledge, None).unwrap();
        (site.name.clone(), site)
    };
    site_texts().into_iter().map(read).collect()
}

/// A site with these settings.
pub fn changed(site: &SiteFile, settings: &[Setting]) -> SiteFile {
    let mut site = site.clone();
    for setting in settings {
        site.values[setting.fact] = Some((setting.value.clone(), site.place.clone()));
    }
    site
}

fn random_settings(trials: &Trials<'_, '_>, dice: &mut Dice, most: usize) -> Vec<Setting> {
    let mut settings: Vec<Setting> = Vec::new();
    for _ in 0..=dice.below(most) {
        let lever = &trials.levers[dice.below(trials.levers.len())];
        let value = lever.settings[dice.below(lever.settings.len())].clone();
        if settings.iter().all(|one| one.fact != lever.fact) {
            settings.push(Setting { fact: lever.fact, value });
        }
    }
    settings.sort_by_key(|one| one.fact);
    settings
}

/// The needs of all candidates by species.
fn levels(assessment: &Assessment<'_>, id: &str) -> Vec<f64> {
    let candidate = assessment.candidate(id).unwrap();
    candidate.needs.iter().map(|need| need.used().value()).collect()
}

#[test]
fn what_is_not_run_again_would_have_said_the_same() {
    let knowledge = knowledge();
    let mut dice = Dice(7);
    for (name, site) in sites(&knowledge) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let days = base.weather.as_ref().map(SiteDays::new);
        let trials = Trials::new(&base, days.as_ref());
        assert!(trials.levers.len() > 5, "{name}: {} levers", trials.levers.len());
        for _ in 0..4 {
            let settings = random_settings(&trials, &mut dice, 3);
            let whole = assess_site(changed(&site, &settings), &knowledge).unwrap();
            let on = trials.site(&settings);
            for candidate in &base.candidates {
                let seen = trials.see(candidate, &settings, &on);
                let partial: Vec<f64> = seen.needs.iter().map(|need| need.used().value()).collect();
                let id = &candidate.species.id;
                assert_eq!(partial, levels(&whole, id), "{name}, {id}: {settings:?}");
            }
        }
    }
}

#[test]
fn n1_is_confirmed_and_n2_withstands_random_changes() {
    let knowledge = knowledge();
    let mut dice = Dice(11);
    let (mut first, mut second) = (0, 0);
    for (name, site) in sites(&knowledge) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let days = base.weather.as_ref().map(SiteDays::new);
        let trials = Trials::new(&base, days.as_ref());
        let tries: Vec<_> = (0..4).map(|_| random_settings(&trials, &mut dice, 12)).collect();
        let tried: Vec<_> =
            tries.iter().map(|settings| assess_site(changed(&site, settings), &knowledge).unwrap()).collect();
        for candidate in base.candidates.iter().filter(|one| one.standing.class == Class::N) {
            let id = &candidate.species.id;
            let reached = reach(&trials, candidate, Class::S3);
            match &reached {
                Reach::Settings(settings) if first % 7 == 0 => {
                    let whole = assess_site(changed(&site, settings), &knowledge).unwrap();
                    let standing = &whole.candidate(id).unwrap().standing;
                    assert!(
                        standing.class <= Class::S3,
                        "{name}, {id}: {settings:?} gives {}",
                        standing.class
                    );
                }
                Reach::Never { .. } => {
                    for (settings, whole) in tries.iter().zip(&tried) {
                        let class = whole.candidate(id).unwrap().standing.class;
                        assert_eq!(class, Class::N, "{name}, {id}: {settings:?}");
                    }
                }
                _ => {}
            }
            let said = candidate.standing.changeable;
            assert_eq!(
                said,
                match reached {
                    Reach::Settings(_) => Some(true),
                    Reach::Never { .. } => Some(false),
                    Reach::Unsettled => None,
                }
            );
            first += usize::from(said == Some(true));
            second += usize::from(said == Some(false));
        }
    }
    println!("refused on all sites: {first} N1, {second} N2");
    assert!(first > 50 && second > 200, "{first} N1, {second} N2");
}

#[test]
fn what_is_fixed_is_never_changed() {
    let knowledge = knowledge();
    let (_, mut site) = sites(&knowledge).into_iter().find(|(name, _)| name.contains("Fairground")).unwrap();
    let open = assess_site(site.clone(), &knowledge).unwrap();
    let n1 = |one: &Assessment<'_>| {
        one.candidates.iter().filter(|one| one.standing.changeable == Some(true)).count()
    };
    assert!(n1(&open) > 0);
    site.fixed = (0..site.values.len()).collect();
    assert_eq!(n1(&assess_site(site, &knowledge).unwrap()), 0);
}

/// Inputs that could be changed but are not stated: where one bears on any need of any candidate, whatever it is
/// brought to, it is told to be left out; none is that the site file states or fixes.
#[test]
fn what_is_left_out_for_not_being_stated_is_told_where_it_bears() {
    let knowledge = knowledge();
    let declared = &knowledge.vocabulary.site;
    let (mut bears, mut told, mut spared) = (0, 0, 0);
    for (name, site) in sites(&knowledge).into_iter().step_by(2) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let days = base.weather.as_ref().map(SiteDays::new);
        let trials = Trials::noting(&base, days.as_ref());
        assert!(trials.left_out().is_empty(), "{name}: nothing was tried yet");
        trials.site(&[]);
        let left_out = trials.left_out();
        told += left_out.len();
        for fact in &left_out {
            assert!(
                declared[*fact].lever.is_some() && site.values[*fact].is_none(),
                "{}",
                declared[*fact].id
            );
            assert!(!site.fixed.contains(fact), "{name}: {}", declared[*fact].id);
            assert!(trials.levers.iter().all(|lever| lever.fact != *fact), "{name}: {}", declared[*fact].id);
        }
        for (fact, own) in declared.iter().enumerate() {
            let open = site.values[fact].is_none() && !site.fixed.contains(&fact);
            let Some(lever) = own.lever.as_ref().filter(|_| open) else { continue };
            // a site file that states it would be refused
            if is_moot(fact, &base.facts, declared) {
                assert!(!left_out.contains(&fact), "{name}: {}", own.id);
                continue;
            }
            if LIGHT.contains(&own.id.as_str()) || trials.levers.iter().any(|lever| lever.fact == fact) {
                continue;
            }
            let settings = lever.run_through(own, &knowledge.vocabulary);
            let moves = [settings.first(), settings.last()].into_iter().flatten().any(|value| {
                let one = Setting { fact, value: value.clone() };
                let whole = assess_site(changed(&site, &[one]), &knowledge).unwrap();
                let ids = base.candidates.iter().map(|own| &own.species.id);
                ids.clone().any(|id| levels(&whole, id) != levels(&base, id))
            });
            bears += usize::from(moves);
            spared += usize::from(!left_out.contains(&fact));
            assert!(!moves || left_out.contains(&fact), "{name}: {} bears on it", own.id);
        }
    }
    // every input that can be changed is read by some rule, so that hardly one is spared
    println!("{bears} inputs that are not stated bear on a need, {told} are told, {spared} are not");
    assert!(bears > 30, "{bears}");
}

/// Sites without the light that they state: where N2 names nothing that was left out, no answer to what is not
/// stated and no change besides helps; where it names something, `change` names the same, and some answers do help.
#[test]
fn n2_holds_whatever_is_stated_unless_it_says_what_was_left_out() {
    let knowledge = knowledge();
    let declared = &knowledge.vocabulary.site;
    let mut dice = Dice(5);
    let (mut firm, mut open, mut helped) = (0, 0, 0);
    for (name, mut site) in sites(&knowledge).into_iter().step_by(2) {
        for fact in (0..declared.len()).filter(|fact| LIGHT.contains(&declared[*fact].id.as_str())) {
            site.values[fact] = None;
        }
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let days = base.weather.as_ref().map(SiteDays::new);
        let trials = Trials::new(&base, days.as_ref());
        let unstated: Vec<usize> = trials.unstated().to_vec();
        let answers: Vec<Assessment<'_>> = (0..8)
            .map(|turn| {
                let mut settings = random_settings(&trials, &mut dice, 6);
                // half of them say the light alone, one way of it at a time
                let ways = unstated.iter().filter(|fact| LIGHT.contains(&declared[**fact].id.as_str()));
                let ways: Vec<usize> = ways.copied().collect();
                let said = ways.get(dice.below(ways.len())).copied();
                for fact in &unstated {
                    let is_light = ways.contains(fact);
                    if (is_light && said != Some(*fact)) || (turn % 2 == 0 && !is_light) {
                        continue;
                    }
                    let lever = declared[*fact].lever.as_ref().unwrap();
                    let values = lever.run_through(&declared[*fact], &knowledge.vocabulary);
                    settings.push(Setting { fact: *fact, value: values[dice.below(values.len())].clone() });
                }
                assess_site(changed(&site, &settings), &knowledge).unwrap()
            })
            .collect();
        for candidate in base.candidates.iter().filter(|one| one.standing.changeable == Some(false)) {
            let id = &candidate.species.id;
            let lifts = answers.iter().any(|one| one.candidate(id).unwrap().standing.class != Class::N);
            if candidate.left_out.is_empty() {
                firm += 1;
                assert!(!lifts, "{name}, {id}");
                continue;
            }
            open += 1;
            helped += usize::from(lifts);
            if open % 5 == 1 {
                let told = what_if(&base, candidate, Class::S3, UnitSystem::Si);
                assert_eq!(told.left_out, candidate.left_out, "{name}, {id}");
            }
        }
    }
    println!("N2: {firm} firm, {open} by what is stated alone, of which {helped} were lifted by some answer");
    assert!(firm > 100 && open > 20 && helped > 0, "{firm} {open} {helped}");
}
