"""Our FAO-56 reference evapotranspiration against the general-purpose library refet.

Both get the same days: latitude, height, day of the year, temperatures, vapour pressure, radiation,
wind and soil heat; invented days over the climates of the earth, and every month of every real file
that `climate read` reads, where SWARDWRIGHT_CLIMATE_DIR names their folder. Where a file lacks sun,
humidity or wind both get the estimates of FAO-56 chapter 3: radiation by equation 50, vapour pressure
at the minimum (equation 48), 2 m/s. The months that the command prints are held against the library's
building blocks as well, with the soil heat of equation 43. Differences above 1 % fail.
"""

import csv
import gzip
import io
import math
import os
import pathlib
import subprocess
import sys
import tempfile

import numpy as np
import refet
from refet import calcs

HEAD = ["lat_deg", "elev_m", "doy", "tmax_c", "tmin_c", "ea_kpa", "rs_mj", "u2_m_s", "g_mj"]

# Options of `climate read` for files that do not state where their station lies, or their units, by what
# their name holds. Positions are those of the station in other NOAA files or lists of stations; both sides
# get the same, so that a slip in one of them shifts the place and not the comparison.
OPTIONS = {
    "USW00003870": ["--latitude", "34.884", "--elevation", "287.4"],
    "USW00023044": ["--latitude", "31.811", "--elevation", "1194.2"],
    "USW00014839": ["--latitude", "42.955", "--elevation", "204.2", "--units", "us"],
    "USW00014922": ["--latitude", "44.8831", "--elevation", "265.8"],
}


def saturation(t):
    return 0.6108 * math.exp(17.27 * t / (t + 237.3))


def invented_days():
    """Latitudes, heights, seasons, dry and damp air, cloud and sun, calm and wind."""
    for lat in (-35.0, -12.0, 5.0, 24.0, 33.0, 45.0, 58.0):
        for elev in (5.0, 400.0, 1600.0):
            for doy in (15, 105, 196, 288):
                summer = math.cos((doy - 196) / 365 * 2 * math.pi) * (1 if lat > 0 else -1)
                mean = 26 - 0.35 * abs(lat) + 0.012 * abs(lat) * 20 * summer - 0.006 * elev
                for spread, damp, cloud, wind in ((8, 0.85, 0.35, 1.0), (14, 0.55, 0.55, 2.2), (19, 0.3, 0.72, 4.5)):
                    ra = float(calcs.ra_daily(np.radians(lat), np.array(doy), method="asce"))
                    if ra < 3:
                        continue
                    ea = damp * saturation(mean - spread / 2)
                    soil = 0.8 * math.sin((doy - 105) / 365 * 2 * math.pi) * (-1 if lat > 0 else 1)
                    yield [lat, elev, doy, mean + spread / 2, mean - spread / 2, ea, cloud * ra, wind, soil]


MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def real_tables(binary):
    """What `climate read --et0` prints of each real file, packed ones unpacked: name and rows, or name and why not."""
    folder = os.environ.get("SWARDWRIGHT_CLIMATE_DIR")
    if not folder:
        return [], []
    raw = pathlib.Path(folder)
    raw = raw / "raw" if (raw / "raw").is_dir() else raw
    tables, unread = [], []
    with tempfile.TemporaryDirectory() as scratch:
        for path in sorted(raw.iterdir()):
            plain = path
            if path.suffix == ".gz":
                plain = pathlib.Path(scratch) / path.stem
                plain.write_bytes(gzip.decompress(path.read_bytes()))
            options = next((own for key, own in OPTIONS.items() if key in path.name), [])
            read = subprocess.run([binary, "climate", "read", str(plain), "--et0", *options], capture_output=True, text=True)
            rows = list(csv.DictReader(io.StringIO(read.stdout))) if read.returncode == 0 else []
            if rows:
                tables.append((path.name, rows))
            else:
                said = next((line for line in read.stderr.splitlines() if line.startswith("error")), "nothing")
                unread.append((path.name, said.replace(str(plain), "it").split(": wanted are")[0]))
    return tables, unread


def is_full(rows):
    """Whether sun, humidity and wind are the file's own in every month."""
    return all(row["solar_mj_m2_d"] and row["rh_pct"] and row["wind_2m_m_s"] for row in rows)


def month_inputs(rows):
    """Temperatures, vapour pressure, radiation, wind and soil heat (FAO-56 equation 43) of each month."""
    means = [(float(row["tmax_c"]) + float(row["tmin_c"])) / 2 for row in rows]
    for month, row in enumerate(rows):
        tmax, tmin = float(row["tmax_c"]), float(row["tmin_c"])
        damp = float(row["rh_pct"] or 0) / 100
        ea = damp * (saturation(tmax) + saturation(tmin)) / 2 if damp else saturation(tmin)
        soil = 0.07 * (means[(month + 1) % 12] - means[month - 1])
        yield tmax, tmin, ea, float(row["rs_used_mj_m2_d"]), float(row["wind_2m_m_s"] or 2.0), soil


def station_days(rows):
    """The months of a real file as mean days."""
    for row, (tmax, tmin, ea, rs, wind, soil) in zip(rows, month_inputs(rows)):
        doy = round(30.4375 * (int(row["month"]) - 0.5))
        yield [float(row["latitude_deg"]), float(row["elevation_m"]), doy, tmax, tmin, ea, rs, wind, soil]


def with_soil_heat(daily, soil):
    """ET0 of the outside library's own parts; its class for days leaves soil heat out."""
    found = calcs.etsz(daily.rn, soil, daily.tmean, daily.u2, daily.vpd, daily.es_slope, daily.psy, 900, 0.34)
    return max(0.0, float(found[0]))


def theirs_of(day):
    """ET0 of the outside library for a day of a date."""
    lat, elev, doy, tmax, tmin, ea, rs, u2, soil = day
    daily = refet.Daily(tmin=tmin, tmax=tmax, ea=ea, rs=rs, uz=u2, zw=2, elev=elev, lat=lat, doy=doy, method="asce")
    return with_soil_heat(daily, soil)


def mean_ra(lat, month):
    """The library's radiation outside the atmosphere, mean of the days of a month."""
    first = sum(MONTH_DAYS[:month]) + 1
    return float(np.mean(calcs.ra_daily(np.radians(lat), np.arange(first, first + MONTH_DAYS[month]), method="asce")))


def theirs_by_month(rows):
    """The months that the command should print: Penman-Monteith by the library's parts where the file has
    sun, humidity and wind, with clear-sky radiation of the month's mean day; else FAO-56 equation 52, which
    the library does not have: written out here, on the library's radiation outside the atmosphere."""
    for month, (row, (tmax, tmin, ea, rs, wind, soil)) in enumerate(zip(rows, month_inputs(rows))):
        lat, elev = float(row["latitude_deg"]), float(row["elevation_m"])
        ra = mean_ra(lat, month)
        if "Hargreaves" in row["method"]:
            yield 0.0023 * ((tmax + tmin) / 2 + 17.8) * math.sqrt(tmax - tmin) * 0.408 * ra
            continue
        clear = np.array([float(calcs.rso_simple(np.array(ra), elev))])
        daily = refet.Daily(
            tmin=tmin, tmax=tmax, ea=ea, rs=rs, uz=wind, zw=2, elev=elev, lat=lat, doy=1, method="asce",
            rso_type="array", rso=clear,
        )
        yield with_soil_heat(daily, soil)


def estimated_sun(rows):
    """Radiation by FAO-56 equation 50 inland (kRs 0.16), on the library's Ra and not above its clear sky."""
    for month, row in enumerate(rows):
        ra = mean_ra(float(row["latitude_deg"]), month)
        clear = float(calcs.rso_simple(np.array(ra), float(row["elevation_m"])))
        yield min(0.16 * math.sqrt(float(row["tmax_c"]) - float(row["tmin_c"])) * ra, clear)


LIMIT = 0.01
# below this, mm/d, the fourth decimal of the inputs or the second of ET0 may be a per cent
SMALL = 0.3


def difference(ours, theirs):
    """Share by which ours lies above theirs; of small figures, against the smallest that is compared."""
    return (ours - theirs) / max(theirs, SMALL)


def shown(differences):
    return " ".join(f"{100 * one:+6.2f}" for one in differences)


def month_tables(tables, ours_of_days):
    """Prints the differences of each month of each file; whether all are within the limit."""
    good = True
    print("differences by month, %, ours against the library's (January to December):")
    for name, rows in tables:
        kind = "own sun, humidity and wind" if is_full(rows) else "missing data estimated (FAO-56 chapter 3)"
        print(f"  {name}: {kind}; the command says {rows[0]['method'].split(';')[0]}")
        days = list(station_days(rows))
        same = [difference(own, theirs_of(day)) for own, day in zip(ours_of_days[name], days)]
        print(f"    equation 6, same inputs and G of eq 43  {shown(same)}")
        command = [difference(float(row["et0_mm_d"]), own) for row, own in zip(rows, theirs_by_month(rows))]
        print(f"    months that the command prints          {shown(command)}")
        if not rows[0]["solar_mj_m2_d"]:
            estimate = [difference(float(row["rs_used_mj_m2_d"]), own) for row, own in zip(rows, estimated_sun(rows))]
            print(f"    radiation estimated by equation 50      {shown(estimate)}")
            command += estimate
        # what the library's class for days would say of these months, which counts no soil heat: for information
        bare = [difference(own, theirs_of(day[:-1] + [0.0])) for own, day in zip(ours_of_days[name], days)]
        print(f"    the same against a library without G    {shown(bare)}  (not held to a limit)")
        ours, theirs = (sum(rate * days for rate, days in zip(rates, MONTH_DAYS)) for rates in (
            [float(row["et0_mm_d"]) for row in rows], list(theirs_by_month(rows))))
        print(f"    year: ours {ours:.0f} mm, the library's {theirs:.0f} mm, {100 * (ours / theirs - 1):+.2f} %")
        good = good and max(map(abs, same + command)) <= LIMIT and abs(ours / theirs - 1) <= LIMIT
    return good


# FAO-56 equation 21 against the typical-year files' own extraterrestrial radiation: those use a finer
# position of the sun and another solar constant, so only a wrong formula or unit goes beyond this
RA_LIMIT = 0.08


def typical_years(tables):
    """Our Ra by month against the column that typical-year files carry; whether all is within limits."""
    good = True
    carrying = [(name, rows) for name, rows in tables if all(row["ra_in_file_mj_m2_d"] for row in rows)]
    for name, rows in carrying:
        differences = [float(row["ra_mj_m2_d"]) / float(row["ra_in_file_mj_m2_d"]) - 1 for row in rows]
        shown = " ".join(f"{100 * one:+.1f}" for one in differences)
        print(f"Ra against {name}, % by month: {shown}")
        good = good and max(abs(one) for one in differences) <= RA_LIMIT
    print(f"{len(carrying)} typical years compared with their own extraterrestrial radiation")
    return good


def main():
    # as the tests built both: `cargo build` alone would build them anew, for other features of what they rest on
    subprocess.run(["cargo", "test", "--quiet", "--no-run"], check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", "target")) / "debug"
    tables, unread = real_tables(str(target / "swardwright"))
    named = bool(os.environ.get("SWARDWRIGHT_CLIMATE_DIR"))
    if not named:
        print("NOT READ: SWARDWRIGHT_CLIMATE_DIR is not set; no real station was compared")
    full = sum(is_full(rows) for _, rows in tables)
    print(f"{len(tables)} real files compared: {full} with their own sun, humidity and wind, {len(tables) - full} with estimates; {len(unread)} not")
    for name, why in unread:
        print(f"  not compared: {name}: {why}")
    if named and not full:
        sys.exit("no real file has sun, humidity and wind: full Penman-Monteith was not compared")
    invented = list(invented_days())
    real = [day for _, rows in tables for day in station_days(rows)]
    days = invented + real
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(HEAD)
    writer.writerows(days)
    ours = subprocess.run([str(target / "examples" / "et0_days")], input=text.getvalue(), capture_output=True, text=True, check=True)
    rows = [[float(cell) for cell in row] for row in list(csv.reader(io.StringIO(ours.stdout)))[1:]]
    assert len(rows) == len(days), f"{len(rows)} answers for {len(days)} days"
    worst_et0 = worst_ra = 0.0
    for day, (ra, et0, _) in zip(days, rows):
        lat, _, doy, *_ = day
        their_ra = float(calcs.ra_daily(np.radians(lat), np.array(doy), method="asce"))
        worst_ra = max(worst_ra, abs(ra - their_ra) / their_ra)
        worst_et0 = max(worst_et0, abs(difference(et0, theirs_of(day))))
    print(f"ET0 against refet {refet.__version__ if hasattr(refet, '__version__') else ''}: {len(invented)} invented and {len(real)} real days, largest difference {100 * worst_et0:.2f} %")
    print(f"Ra against the same: largest difference {100 * worst_ra:.2f} %")
    if worst_et0 > LIMIT or worst_ra > LIMIT:
        sys.exit("the difference is above 1 %")
    own = iter([et0 for _, et0, _ in rows[len(invented):]])
    if not month_tables(tables, {name: [next(own) for _ in months] for name, months in tables}):
        sys.exit(f"the difference of a month or year is above {100 * LIMIT:.0f} %")
    if not typical_years(tables):
        sys.exit(f"the difference is above {100 * RA_LIMIT:.0f} %")


if __name__ == "__main__":
    main()
