//! Facts of the soil: texture class, its group, and the water that it holds.

use super::facts::Workbench;
use super::texture::Texture;
use crate::engine::facts::Origin;
use crate::engine::value::Value;

/// Enters what follows from the texture.
pub fn derive(bench: &mut Workbench<'_>) {
    let fraction = |name: &str| bench.number(name).map(|share| share * 100.0);
    if let (Some(sand), Some(silt), Some(clay)) =
        (fraction("sand_pct"), fraction("silt_pct"), fraction("clay_pct"))
        && let Ok(texture) = Texture::from_fractions(sand, silt, clay)
    {
        bench.compute_name("texture", texture.name(), Origin::Computed("USDA texture triangle".into()));
    }
    if let Some(texture) = bench.name_of("texture").and_then(Texture::from_name) {
        bench.compute_name("soil_group", texture.group().name(), Origin::Computed("texture class".into()));
        bench.compute("taw_mm_m", held(texture), "field capacity less wilting point of the texture class");
        return;
    }
    let plausible: Vec<Texture> = bench
        .plausible("texture")
        .iter()
        .filter_map(|value| bench.list("texture")?.names.get(value.as_position()?))
        .filter_map(|name| Texture::from_name(name))
        .collect();
    let groups =
        plausible.iter().filter_map(|texture| bench.named("soil_group", texture.group().name())).collect();
    let waters = plausible.iter().map(|texture| Value::Number(held(*texture))).collect();
    bench.leave_open("soil_group", groups, &["texture"]);
    bench.leave_open("taw_mm_m", waters, &["texture"]);
}

/// Water between field capacity and wilting point, as a fraction of the soil's depth.
fn held(texture: Texture) -> f64 {
    texture.water_contents().available()
}
