"""The figures of many plants in SQL against those of the tool's own reader.

Two rehearsed weeks of the invented plant go into Parquet files, one folder a plant; the
questions of `fleet/sql/` are put to DataFusion over those files, and every figure of every
station, line, shop and plant, every cause of stops and every cycle must be that of
`linewright learn`.
"""

import json
import math
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

import pyarrow
import pyarrow.csv
import pyarrow.parquet

from asking import Tally, binary

ROOT = pathlib.Path(__file__).resolve().parent.parent
sys.path.append(str(ROOT / "fleet"))
import ask as fleet  # noqa: E402, the folder of the questions
BOOK = ROOT / "demo" / "merrow-quay"
# Sums of millions of times in another order.
CLOSE = 1e-9
# The reader leaves out counts of a shift in which it has seen no state of the
# station, such as a job that ends with the last second of a day; SQL has all.
COUNTED, SHARED = 0.1, 1e-3
BY_COUNTS = {"made": COUNTED, "rework": COUNTED, "scrap": COUNTED, "effectiveness": SHARED,
             "quality_ratio": SHARED, "oee": SHARED, "nee": SHARED, "first_pass_yield": SHARED,
             # Means are given to the microsecond.
             "mean_s": 1e-7}

STAMP = pyarrow.timestamp("us", tz="UTC")
WORD, WHOLE = pyarrow.string(), pyarrow.int64()
LOG = {
    "states": {"station": WORD, "unit": WHOLE, "from": STAMP, "to": STAMP, "state": WORD,
               "cause": WORD, "product": WORD, "item": WORD},
    "counts": {"station": WORD, "time": STAMP, "made": WHOLE, "rework": WHOLE, "scrap": WHOLE},
}


def rehearsed(folder, seed):
    """A plant's log in a folder, and what the reader says of it."""
    log = folder / "csv"
    ask = [binary(), "rehearse", BOOK, log, "--weeks", "1", "--warm-up", "1", "--seed", str(seed)]
    subprocess.run(ask, check=True, stdout=subprocess.DEVNULL)
    for table in ["planned", "hours"]:
        shutil.copy(log / f"{table}.csv", folder)
    # The command line under test may be one that writes no Parquet.
    for table, columns in LOG.items():
        convert = pyarrow.csv.ConvertOptions(column_types=columns, strings_can_be_null=True)
        read = pyarrow.csv.read_csv(log / f"{table}.csv", convert_options=convert)
        pyarrow.parquet.write_table(read, folder / f"{table}.parquet", compression="zstd")
    ask = [binary(), "learn", BOOK, log, "--no-run", "--json"]
    # It ends with 1 where a value of the book lies outside its interval.
    return json.loads(subprocess.run(ask, stdout=subprocess.PIPE, check=False).stdout)


def asked(engine, question):
    start = time.perf_counter()
    rows = fleet.ask(engine, question).to_pylist()
    print(f"{question}: {len(rows)} rows in {time.perf_counter() - start:.1f} s")
    return rows


def same(name, found, expected):
    if expected is None or found is None:
        return found is None and expected is None
    close = BY_COUNTS.get(name, CLOSE)
    return math.isclose(found, expected, rel_tol=close, abs_tol=CLOSE)


def compare(tally, what, pairs):
    """One line for many figures; those that differ are told apart."""
    differ = [(key, name, a, b) for key, name, a, b in pairs if not same(name, a, b)]
    for key, name, a, b in differ[:5]:
        print(f"  {key} {name}: {a} in SQL, {b} by the reader")
    tally.line(not differ and bool(pairs), f"{what:<40}{len(pairs):>8} figures compared")


TIMES = ["pbt_s", "apt_s", "aust_s", "adet_s", "waiting_s", "starved_s", "blocked_s",
         "made", "rework", "scrap", "stops"]
RATIOS = ["availability", "effectiveness", "quality_ratio", "oee", "nee", "setup_ratio",
          "technical_efficiency", "first_pass_yield"]


def figures(tally, name, learned, rows):
    found = {(r["shop"], r["line"], r["station"]): r for r in rows if r["plant"] == name}
    pairs = []
    for own in learned["figures"]:
        shop, line, station = own["shop"], own["line"], own["station"]
        # What a group is over has no name in SQL.
        key = (shop or None, line if station else line or None, station or None)
        row = found[key]
        pairs += [(key, what, row[what], own[what]) for what in TIMES]
        pairs += [(key, what, row[what], own["ratios"][what]) for what in RATIOS]
        if own["stops"]:
            repair = (own["adet_s"] - own["waiting_s"]) / 60 / own["stops"]
            running = (own["apt_s"] + own["aust_s"]) / 60 / own["stops"]
            pairs += [(key, "mttr_min", row["mttr_min"], repair),
                      (key, "mtbf_min", row["mtbf_min"], running)]
    compare(tally, f"{name}: ISO 22400-2", pairs)


def listed(tally, name, what, keys, values, own, rows):
    found = {tuple(r[k] for k in keys): r for r in rows if r["plant"] == name}
    pairs = [(key, "there", None, 1.0) for key in found.keys() ^ {
        tuple(r[k] for k in keys) for r in own}]
    for row in own:
        key = tuple(row[k] for k in keys)
        pairs += [(key, v, found[key][v], row[v]) for v in values if key in found]
    compare(tally, f"{name}: {what}", pairs)


def main():
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder:
        learned = {}
        for seed, name in enumerate(["north", "o'hara's"], start=1):
            place = pathlib.Path(folder) / name
            place.mkdir()
            learned[name] = rehearsed(place, seed)
        engine = fleet.tables(fleet.plants(folder))
        answers = {q: asked(engine, q) for q in ["figures", "stops", "cycles"]}
        rows = sum(own["rows"] for own in learned.values())
        print(f"{rows} rows of states of {len(learned)} plants")
    for name, own in learned.items():
        figures(tally, name, own, answers["figures"])
        listed(tally, name, "stops by cause", ["station", "cause"],
               ["stops", "down_s", "waiting_s", "share"], own["causes"], answers["stops"])
        for row in answers["cycles"]:
            # A deviation is a difference of great sums.
            row["mean_s"] = round(row["mean_s"], 6)
        for row in own["cycles"]:
            row["mean_s"] = round(row["mean_s"], 6)
        listed(tally, name, "cycles", ["station", "product"], ["jobs", "mean_s"],
               own["cycles"], answers["cycles"])
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
