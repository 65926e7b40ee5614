//! The choice of a property as pure data: what may be chosen for each area, what it takes, and the limits.
//! Nothing here knows of species, files or solvers, so that brute force can be held against the solver.

/// What may be chosen at one area.
#[derive(Clone, Debug, PartialEq)]
pub struct ModelOption {
    /// The kind planted; the same number at every area.
    pub kind: usize,
    /// Its worth for each unit of size: the index, 0 to 100.
    pub value: f64,
    /// What it takes of each resource for each unit of size; infinite where that is not known, so that it
    /// keeps no limit on the resource and may stand where there is none.
    pub takes: Vec<f64>,
    /// Whether its runners go into what stands beside it, where no edge stops them; the same of a kind at
    /// every area.
    pub creeps: bool,
    /// Whether its seed comes up in what stands beside it, over any edge; the same of a kind at every area.
    pub seeds: bool,
}

/// One area.
#[derive(Clone, Debug, PartialEq)]
pub struct ModelArea {
    /// Its size, m2.
    pub size: f64,
    /// The zone that it is watered with.
    pub zone: Option<usize>,
    /// What may stand here.
    pub options: Vec<ModelOption>,
}

/// Something of which there is only so much.
#[derive(Clone, Debug, PartialEq)]
pub struct Resource {
    /// The most that may be used; infinite where it is only counted.
    pub most: f64,
    /// Whether all areas of a zone take what the thirstiest of them takes for each unit of size.
    pub zoned: bool,
}

/// Two areas side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair {
    /// The first.
    pub a: usize,
    /// The second.
    pub b: usize,
    /// Whether an edge between them stops runners.
    pub edged: bool,
}

/// The whole choice: one option an area.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Model {
    /// The areas.
    pub areas: Vec<ModelArea>,
    /// Those side by side.
    pub pairs: Vec<Pair>,
    /// What is limited.
    pub resources: Vec<Resource>,
    /// The most kinds in all.
    pub kinds: Option<usize>,
}

/// The position of the option taken at each area.
pub type Choice = Vec<usize>;

/// A limit that can be lifted by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Limit {
    /// The most kinds in all.
    Kinds,
    /// The most of a resource.
    Resource(usize),
    /// Two neighbours that must not invade one another.
    Pair(usize),
    /// A zone whose areas are watered alike.
    Zone(usize),
}

/// Sums are held against limits with this share to spare, for what is lost in adding.
pub const SPARE: f64 = 1e-7;

impl Model {
    /// The mean value over the whole size, 0 to 100.
    pub fn value(&self, choice: &[usize]) -> f64 {
        let worth: f64 = self.chosen(choice).map(|(area, option)| area.size * option.value).sum();
        worth / self.size()
    }

    /// The size of all areas.
    pub fn size(&self) -> f64 {
        self.areas.iter().map(|area| area.size).sum()
    }

    /// How many options there are in all.
    pub fn count_options(&self) -> usize {
        self.areas.iter().map(|area| area.options.len()).sum()
    }

    /// The least that the areas can take of a resource, whatever else is limited, zones considered: a
    /// zone takes what its thirstiest area does, which is no less than the least of each.
    pub fn least(&self, resource: usize) -> f64 {
        self.taken_by_each(resource, |takes| takes.fold(f64::INFINITY, f64::min))
    }

    /// The most that the areas can take of a resource, zones considered.
    pub fn most(&self, resource: usize) -> f64 {
        self.taken_by_each(resource, |takes| takes.fold(0.0, f64::max))
    }

    /// What all areas take of a resource where each takes what it makes of its options, its zone considered.
    fn taken_by_each(&self, resource: usize, of: impl Fn(&mut dyn Iterator<Item = f64>) -> f64) -> f64 {
        let rates: Vec<f64> = self
            .areas
            .iter()
            .map(|area| of(&mut area.options.iter().map(|option| option.takes[resource])))
            .collect();
        self.used_at(&rates, resource)
    }

    fn used_at(&self, own: &[f64], resource: usize) -> f64 {
        let rates = self.alike(own, resource);
        self.areas.iter().zip(rates).map(|(area, rate)| area.size * rate).sum()
    }

    /// What each area takes of a resource for each unit of size, its zone considered.
    pub fn rates(&self, choice: &[usize], resource: usize) -> Vec<f64> {
        let own: Vec<f64> = self.chosen(choice).map(|(_, option)| option.takes[resource]).collect();
        self.alike(&own, resource)
    }

    /// All areas of a zone at the rate of the thirstiest of them, where the resource is shared by zones.
    fn alike(&self, own: &[f64], resource: usize) -> Vec<f64> {
        if !self.resources[resource].zoned {
            return own.to_vec();
        }
        let most = |zone: usize| {
            let alike = self.areas.iter().zip(own).filter(|(area, _)| area.zone == Some(zone));
            alike.map(|(_, rate)| *rate).fold(0.0, f64::max)
        };
        self.areas.iter().zip(own).map(|(area, rate)| area.zone.map_or(*rate, most)).collect()
    }

    /// What all areas take of a resource.
    pub fn used(&self, choice: &[usize], resource: usize) -> f64 {
        let own: Vec<f64> = self.chosen(choice).map(|(_, option)| option.takes[resource]).collect();
        self.used_at(&own, resource)
    }

    /// How many kinds are planted.
    pub fn count_kinds(&self, choice: &[usize]) -> usize {
        let mut kinds: Vec<usize> = self.chosen(choice).map(|(_, option)| option.kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds.len()
    }

    /// Whether one of two neighbours invades the other.
    pub fn invades(&self, pair: Pair, choice: &[usize]) -> bool {
        let [one, other] = [pair.a, pair.b].map(|at| &self.areas[at].options[choice[at]]);
        one.kind != other.kind && (one.invades(pair.edged) || other.invades(pair.edged))
    }

    /// Whether a choice keeps every limit.
    pub fn keeps(&self, choice: &[usize]) -> bool {
        let resources = self.resources.iter().enumerate();
        self.kinds.is_none_or(|most| self.count_kinds(choice) <= most)
            && self.pairs.iter().all(|pair| !self.invades(*pair, choice))
            && resources
                .into_iter()
                .all(|(at, own)| self.used(choice, at) <= own.most + own.most.abs() * SPARE)
    }

    /// Every limit that stands.
    pub fn limits(&self) -> Vec<Limit> {
        let resources = self.resources.iter().enumerate().filter(|(_, own)| own.most.is_finite());
        let mut zones: Vec<usize> = self.areas.iter().filter_map(|area| area.zone).collect();
        zones.sort_unstable();
        zones.dedup();
        // a zone of one area, or one that no limit of water sees, binds nothing
        let sees = self.resources.iter().any(|own| own.zoned && own.most.is_finite());
        let shared = |zone: &usize| self.areas.iter().filter(|area| area.zone == Some(*zone)).count() > 1;
        self.kinds
            .map(|_| Limit::Kinds)
            .into_iter()
            .chain(resources.map(|(at, _)| Limit::Resource(at)))
            .chain((0..self.pairs.len()).map(Limit::Pair))
            .chain(zones.into_iter().filter(|zone| sees && shared(zone)).map(Limit::Zone))
            .collect()
    }

    /// The same model with only these limits.
    #[must_use]
    pub fn with_only(&self, limits: &[Limit]) -> Model {
        let stands = |limit: Limit| limits.contains(&limit);
        let mut model = self.clone();
        model.kinds = self.kinds.filter(|_| stands(Limit::Kinds));
        for (at, resource) in model.resources.iter_mut().enumerate() {
            if !stands(Limit::Resource(at)) {
                resource.most = f64::INFINITY;
            }
        }
        let pairs = self.pairs.iter().enumerate();
        model.pairs = pairs.filter(|(at, _)| stands(Limit::Pair(*at))).map(|(_, pair)| *pair).collect();
        for area in &mut model.areas {
            area.zone = area.zone.filter(|zone| stands(Limit::Zone(*zone)));
        }
        model
    }

    /// The same model without one limit.
    #[must_use]
    pub fn without(&self, limit: Limit) -> Model {
        let others: Vec<Limit> = self.limits().into_iter().filter(|own| *own != limit).collect();
        self.with_only(&others)
    }

    fn chosen(&self, choice: &[usize]) -> impl Iterator<Item = (&ModelArea, &ModelOption)> {
        self.areas.iter().zip(choice).map(|(area, at)| (area, &area.options[*at]))
    }
}

impl ModelOption {
    /// Whether it goes into another kind beside it.
    pub fn invades(&self, edged: bool) -> bool {
        self.seeds || (self.creeps && !edged)
    }
}
