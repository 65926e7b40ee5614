//! Facts of the region: whether the knowledge has read any list of plants that was made for it.

use super::facts::Workbench;
use crate::engine::facts::Origin;
use crate::engine::value::Value;

/// Traits that name the regions whose lists a species stands on.
const LISTS: [&str; 2] = ["species.invasive_in", "species.noxious_in"];

/// Enters whether some species is known to be listed in the region: where none is, no list of it was
/// read, and that a species is not named as listed says nothing.
pub fn derive(bench: &mut Workbench<'_>) {
    let Some(Value::Text(region)) = bench.value("region") else { return };
    let slots = LISTS.iter().filter_map(|id| bench.knowledge.vocabulary.slot(id));
    let slots: Vec<usize> = slots.map(|slot| slot.index).collect();
    let mut listed = bench.knowledge.species.iter().flat_map(|species| {
        slots.iter().filter_map(|slot| species.traits.get(*slot)?.as_ref().map(|own| &own.value))
    });
    let read = listed.any(|value| matches!(value, Value::Texts(regions) if regions.contains(region)));
    let how = "whether any species of the knowledge is known to be listed there";
    bench.enter("region_lists_read", Value::Flag(read), Origin::Computed(how.to_owned()));
}
