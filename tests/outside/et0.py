"""Our FAO-56 reference evapotranspiration against the general-purpose library refet.

Both get the same days: latitude, height, day of the year, temperatures, vapour pressure, radiation
and wind; invented days over the climates of the earth, and the months of real stations where
SWARDWRIGHT_CLIMATE_DIR names their folder. Differences above 1 % fail.
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


def station_days(binary):
    """Months of real stations that carry radiation, humidity and wind, as mean days."""
    folder = os.environ.get("SWARDWRIGHT_CLIMATE_DIR")
    if not folder:
        print("SKIPPED: SWARDWRIGHT_CLIMATE_DIR is not set; no real station was compared")
        return
    raw = pathlib.Path(folder)
    raw = raw / "raw" if (raw / "raw").is_dir() else raw
    used = 0
    for path in sorted(raw.iterdir()):
        read = subprocess.run([binary, "climate", "read", str(path), "--format", "csv"], capture_output=True, text=True)
        place = subprocess.run([binary, "climate", "read", str(path)], capture_output=True, text=True)
        if read.returncode or place.returncode:
            continue
        where = {}
        for line in place.stdout.splitlines():
            key, _, value = line.partition(" = ")
            if key in ("latitude_deg", "elevation_m"):
                where[key] = float(value)
        rows = list(csv.DictReader(io.StringIO(read.stdout)))
        wanted = ("tmax_c", "tmin_c")
        if "latitude_deg" not in where or not all(row.get(key) for row in rows for key in wanted):
            continue
        used += 1
        for row in rows:
            doy = round(30.4375 * (int(row["month"]) - 0.5))
            tmax, tmin = float(row["tmax_c"]), float(row["tmin_c"])
            ra = float(calcs.ra_daily(np.radians(where["latitude_deg"]), np.array(doy), method="asce"))
            rs = float(row.get("solar_mj_m2_d") or 0.16 * math.sqrt(max(0.0, tmax - tmin)) * ra)
            damp = float(row.get("rh_pct") or 0) / 100
            ea = damp * (saturation(tmax) + saturation(tmin)) / 2 if damp else saturation(tmin)
            yield [where["latitude_deg"], where.get("elevation_m", 0.0), doy, tmax, tmin, ea, rs, 2.0]
    print(f"{used} real stations compared")


# FAO-56 equation 21 against the typical-year files' own extraterrestrial radiation: those use a finer
# position of the sun and another solar constant, so only a wrong formula or unit goes beyond this
RA_LIMIT = 0.08


def typical_years(binary):
    """Our Ra by month against the column that typical-year files carry; whether all is within limits."""
    folder = os.environ.get("SWARDWRIGHT_CLIMATE_DIR")
    if not folder:
        print("SKIPPED: SWARDWRIGHT_CLIMATE_DIR is not set; Ra was not held against typical years")
        return True
    raw = pathlib.Path(folder)
    raw = raw / "raw" if (raw / "raw").is_dir() else raw
    good, compared = True, 0
    with tempfile.TemporaryDirectory() as scratch:
        for path in sorted(raw.iterdir()):
            plain = path
            if path.suffix == ".gz":
                plain = pathlib.Path(scratch) / path.stem
                plain.write_bytes(gzip.decompress(path.read_bytes()))
            read = subprocess.run([binary, "climate", "read", str(plain), "--et0"], capture_output=True, text=True)
            rows = list(csv.DictReader(io.StringIO(read.stdout))) if read.returncode == 0 else []
            if not rows or not all(row["ra_in_file_mj_m2_d"] for row in rows):
                continue
            compared += 1
            differences = [float(row["ra_mj_m2_d"]) / float(row["ra_in_file_mj_m2_d"]) - 1 for row in rows]
            shown = " ".join(f"{100 * one:+.1f}" for one in differences)
            print(f"Ra against {path.name}, % by month: {shown}")
            good = good and max(abs(one) for one in differences) <= RA_LIMIT
    print(f"{compared} typical years compared with their own extraterrestrial radiation")
    return good


def main():
    subprocess.run(["cargo", "build", "--quiet", "--example", "et0_days", "--bin", "swardwright"], check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", "target")) / "debug"
    days = list(invented_days()) + list(station_days(str(target / "swardwright")))
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(HEAD)
    writer.writerows(days)
    ours = subprocess.run([str(target / "examples" / "et0_days")], input=text.getvalue(), capture_output=True, text=True, check=True)
    rows = [[float(cell) for cell in row] for row in list(csv.reader(io.StringIO(ours.stdout)))[1:]]
    assert len(rows) == len(days), f"{len(rows)} answers for {len(days)} days"
    worst_et0 = worst_ra = 0.0
    for day, (ra, et0, _) in zip(days, rows):
        lat, elev, doy, tmax, tmin, ea, rs, u2 = day
        theirs = float(refet.Daily(tmin=tmin, tmax=tmax, ea=ea, rs=rs, uz=u2, zw=2, elev=elev, lat=lat, doy=doy, method="asce").eto()[0])
        their_ra = float(calcs.ra_daily(np.radians(lat), np.array(doy), method="asce"))
        worst_ra = max(worst_ra, abs(ra - their_ra) / their_ra)
        if theirs > 0.3:  # below that, rounding of hundredths is more than a per cent
            worst_et0 = max(worst_et0, abs(et0 - theirs) / theirs)
    print(f"ET0 against refet {refet.__version__ if hasattr(refet, '__version__') else ''}: {len(days)} days, largest difference {100 * worst_et0:.2f} %")
    print(f"Ra against the same: largest difference {100 * worst_ra:.2f} %")
    if worst_et0 > 0.01 or worst_ra > 0.01:
        sys.exit("the difference is above 1 %")
    if not typical_years(str(target / "swardwright")):
        sys.exit(f"the difference is above {100 * RA_LIMIT:.0f} %")


if __name__ == "__main__":
    main()
