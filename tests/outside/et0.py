"""Our FAO-56 reference evapotranspiration against the general-purpose library refet.

Both get the same days: latitude, height, day of the year, temperatures, vapour pressure, radiation
and wind; invented days over the climates of the earth, and the months of real stations and typical
years where SWARDWRIGHT_CLIMATE_DIR names their folder. Typical years carry sun, humidity and wind, so
that nothing is estimated there. Differences above 1 % fail.
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

HEAD = ["lat_deg", "elev_m", "doy", "tmax_c", "tmin_c", "ea_kpa", "rs_mj", "u2_m_s"]


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
                    yield [lat, elev, doy, mean + spread / 2, mean - spread / 2, ea, cloud * ra, wind]


MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def real_tables(binary):
    """What `climate read --et0` prints of each real file, packed ones unpacked; nothing where it refuses."""
    folder = os.environ.get("SWARDWRIGHT_CLIMATE_DIR")
    if not folder:
        return
    raw = pathlib.Path(folder)
    raw = raw / "raw" if (raw / "raw").is_dir() else raw
    with tempfile.TemporaryDirectory() as scratch:
        for path in sorted(raw.iterdir()):
            plain = path
            if path.suffix == ".gz":
                plain = pathlib.Path(scratch) / path.stem
                plain.write_bytes(gzip.decompress(path.read_bytes()))
            read = subprocess.run([binary, "climate", "read", str(plain), "--et0"], capture_output=True, text=True)
            rows = list(csv.DictReader(io.StringIO(read.stdout))) if read.returncode == 0 else []
            if rows:
                yield path.name, rows


def is_full(rows):
    """Whether sun, humidity and wind are the file's own in every month."""
    return all(row["solar_mj_m2_d"] and row["rh_pct"] and row["wind_2m_m_s"] for row in rows)


def station_days(tables):
    """The months of real files as mean days."""
    for _, rows in tables:
        for row in rows:
            doy = round(30.4375 * (int(row["month"]) - 0.5))
            tmax, tmin = float(row["tmax_c"]), float(row["tmin_c"])
            damp = float(row["rh_pct"] or 0) / 100
            ea = damp * (saturation(tmax) + saturation(tmin)) / 2 if damp else saturation(tmin)
            rs, wind = float(row["rs_used_mj_m2_d"]), float(row["wind_2m_m_s"] or 2.0)
            yield [float(row["latitude_deg"]), float(row["elevation_m"]), doy, tmax, tmin, ea, rs, wind]


def theirs_of(day):
    """ET0 of the outside library."""
    lat, elev, doy, tmax, tmin, ea, rs, u2 = day
    return float(refet.Daily(tmin=tmin, tmax=tmax, ea=ea, rs=rs, uz=u2, zw=2, elev=elev, lat=lat, doy=doy, method="asce").eto()[0])


# the command's year against the library's: by month ours counts the heat that the soil takes and gives
# back (FAO-56 equation 43), which the library leaves out and which comes to nothing over the year
YEAR_LIMIT = 0.01


def whole_years(tables):
    """The year that the command prints against the library's; whether all are within limits."""
    good = True
    for name, rows in tables:
        if not is_full(rows):
            continue
        ours = sum(float(row["et0_mm_d"]) * days for row, days in zip(rows, MONTH_DAYS))
        theirs = sum(theirs_of(day) * days for day, days in zip(station_days([(name, rows)]), MONTH_DAYS))
        print(f"year of {name}: ours {ours:.0f} mm, the library's {theirs:.0f} mm, {100 * (ours / theirs - 1):+.1f} %")
        good = good and abs(ours / theirs - 1) <= YEAR_LIMIT
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
    subprocess.run(["cargo", "build", "--quiet", "--example", "et0_days", "--bin", "swardwright"], check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", "target")) / "debug"
    tables = list(real_tables(str(target / "swardwright")))
    named = bool(os.environ.get("SWARDWRIGHT_CLIMATE_DIR"))
    if not named:
        print("NOT READ: SWARDWRIGHT_CLIMATE_DIR is not set; no real station was compared")
    full = sum(is_full(rows) for _, rows in tables)
    print(f"{len(tables)} real files compared: {full} with their own sun, humidity and wind, {len(tables) - full} with estimates")
    if named and not full:
        sys.exit("no real file has sun, humidity and wind: full Penman-Monteith was not compared")
    invented, real = list(invented_days()), list(station_days(tables))
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
        theirs = theirs_of(day)
        their_ra = float(calcs.ra_daily(np.radians(lat), np.array(doy), method="asce"))
        worst_ra = max(worst_ra, abs(ra - their_ra) / their_ra)
        if theirs > 0.3:  # below that, rounding of hundredths is more than a per cent
            worst_et0 = max(worst_et0, abs(et0 - theirs) / theirs)
    print(f"ET0 against refet {refet.__version__ if hasattr(refet, '__version__') else ''}: {len(invented)} invented and {len(real)} real days, largest difference {100 * worst_et0:.2f} %")
    print(f"Ra against the same: largest difference {100 * worst_ra:.2f} %")
    if worst_et0 > 0.01 or worst_ra > 0.01:
        sys.exit("the difference is above 1 %")
    if not whole_years(tables):
        sys.exit(f"the difference of a year is above {100 * YEAR_LIMIT:.0f} %")
    if not typical_years(tables):
        sys.exit(f"the difference is above {100 * RA_LIMIT:.0f} %")


if __name__ == "__main__":
    main()
