//! Reference evapotranspiration of days given on standard input, for checks against other programs.
//!
//! In: CSV with the header `lat_deg,elev_m,doy,tmax_c,tmin_c,ea_kpa,rs_mj,u2_m_s,g_mj`.
//! Out: CSV with `ra_mj,et0_mm,hargreaves_mm`, a line for each day.

use std::io::{BufRead, Write};

use swardwright::formulas::evapotranspiration::{
    PenmanMonteith, hargreaves_samani, net_longwave, net_shortwave, penman_monteith,
};
use swardwright::formulas::quantity::{
    Celsius, Degrees, Kilopascals, MegajoulesPerSquareMetreDay, Metres, MetresPerSecond,
};
use swardwright::formulas::solar::{clear_sky_radiation, extraterrestrial_radiation};

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "ra_mj,et0_mm,hargreaves_mm")?;
    for line in std::io::stdin().lock().lines().skip(1) {
        let line = line?;
        let numbers: Vec<f64> = line.split(',').filter_map(|cell| cell.trim().parse().ok()).collect();
        let [lat, elev, doy, tmax, tmin, ea, rs, u2, g] = numbers[..] else {
            return Err(std::io::Error::other(format!("not nine numbers: {line}")));
        };
        let ra = extraterrestrial_radiation(Degrees(lat), doy as u16);
        let (tmax, tmin, ea) = (Celsius(tmax), Celsius(tmin), Kilopascals(ea));
        let (rs, elevation) = (MegajoulesPerSquareMetreDay(rs), Metres(elev));
        let long = net_longwave(tmax, tmin, ea, rs, clear_sky_radiation(ra, elevation));
        let rn = MegajoulesPerSquareMetreDay(net_shortwave(rs).0 - long.0);
        let g = MegajoulesPerSquareMetreDay(g);
        let day = PenmanMonteith { tmax, tmin, ea, rn, g, u2: MetresPerSecond(u2), elevation };
        let (et0, simple) = (penman_monteith(&day).0, hargreaves_samani(tmax, tmin, ra).0);
        writeln!(out, "{:.6},{et0:.6},{simple:.6}", ra.0)?;
    }
    Ok(())
}
