//! Facts of the soil: texture class, its group, the water that it holds and how fast it takes it in.

use super::facts::Workbench;
use super::texture::{Texture, WaterContents};
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
        let water = texture.water_contents();
        let words = "middle of the texture class, by volume";
        bench.compute("field_capacity_pct", water.field_capacity, words);
        bench.compute("wilting_point_pct", water.wilting_point, words);
        bench.compute("taw_mm_m", held(texture), "field capacity less wilting point of the texture class");
        if let Some(rate) = infiltration(bench, texture) {
            bench.compute(
                "infiltration_mm_h",
                rate,
                "middle of the texture class in the table `infiltration`",
            );
        }
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
    let rates =
        plausible.iter().filter_map(|texture| infiltration(bench, *texture)).map(Value::Number).collect();
    let contents = |pick: fn(WaterContents) -> f64| {
        plausible.iter().map(|texture| Value::Number(pick(texture.water_contents()))).collect()
    };
    bench.leave_open("field_capacity_pct", contents(|water| water.field_capacity), &["texture"]);
    bench.leave_open("wilting_point_pct", contents(|water| water.wilting_point), &["texture"]);
    bench.leave_open("infiltration_mm_h", rates, &["texture"]);
    bench.leave_open("soil_group", groups, &["texture"]);
    bench.leave_open("taw_mm_m", waters, &["texture"]);
}

/// Basic infiltration rate of a texture class, middle of its row, in metres a day.
fn infiltration(bench: &Workbench<'_>, texture: Texture) -> Option<f64> {
    let table = bench.knowledge.table_named("infiltration")?;
    let row = usize::from(bench.list("texture")?.position(texture.name())?);
    Some(f64::midpoint(table.number(row, "low")?, table.number(row, "high")?))
}

/// Water between field capacity and wilting point, as a fraction of the soil's depth.
fn held(texture: Texture) -> f64 {
    texture.water_contents().available()
}
