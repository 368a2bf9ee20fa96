"""Asks the logs of many plants one of the questions in `sql/`.

    python fleet/ask.py FOLDER figures|stops|cycles|FILE.sql [ANSWER.csv]

FOLDER holds a folder for each plant, named as the plant, with states*.parquet, planned.csv,
hours.csv and, where there is one, counts.parquet; or it is such a folder itself. Needs the
package datafusion; see docs/fleet.md.
"""

import pathlib
import sys
import time

import datafusion
import pyarrow
import pyarrow.csv

SQL = pathlib.Path(__file__).resolve().parent / "sql"
QUESTIONS = ["figures", "stops", "cycles"]

WORD, STAMP = pyarrow.string(), pyarrow.timestamp("us", tz="UTC")
BOOK = {
    "planned": {"station": WORD, "shop": WORD, "line": WORD, "units": pyarrow.int64(),
                "product": WORD, "cycle_s": pyarrow.float64()},
    "hours": {"shop": WORD, "from": STAMP, "to": STAMP, "day": WORD, "shift": WORD,
              "open": pyarrow.bool_()},
}


def micros(column):
    """A stamp as whole microseconds of universal time since 1970."""
    return f'CAST(CAST("{column}" AS TIMESTAMP(6)) AS BIGINT)'


VIEWS = {
    "states": f"station, unit, {micros('from')} AS began_us, {micros('to')} AS ended_us, state, "
              "cause, product, CAST(item AS VARCHAR) AS item",
    "counts": f"station, {micros('time')} AS time_us, made, rework, scrap",
    "planned": "station, shop, line, units, product, cycle_s",
    "hours": f"shop, {micros('from')} AS began_us, {micros('to')} AS ended_us, "
             f"{micros('from')} / 86400000000 AS utc_day, day, shift, open",
}
NO_COUNTS = ("SELECT '' AS plant, '' AS station, 0 AS time_us, 0 AS made, 0 AS rework, "
             "0 AS scrap WHERE 1 = 0")


def plants(folder):
    """The plants of a folder: name and place of each."""
    folder = pathlib.Path(folder)
    if not folder.is_dir():
        raise SystemExit(f"{folder}: no such folder")
    places = [folder] if any(folder.glob("states*.parquet")) else sorted(
        place for place in folder.iterdir() if any(place.glob("states*.parquet")))
    if not places:
        raise SystemExit(f"{folder}: no states*.parquet in it or in a folder of it; give a "
                         "folder with a folder for each plant, as `linewright rehearse "
                         "--parquet` writes one")
    for place in places:
        for table in BOOK:
            if not (place / f"{table}.csv").is_file():
                raise SystemExit(f"{place}: no {table}.csv beside the states; write it by "
                                 "`linewright learn BOOK LOG --planned FOLDER` and put it there")
    return [(place.resolve().name, place) for place in places]


def tables(found):
    """An engine with the four tables over the files of these plants."""
    engine = datafusion.SessionContext()
    parts = {table: [] for table in VIEWS}

    def part(table, plant, name):
        quoted = plant.replace("'", "''")
        parts[table].append(f"SELECT '{quoted}' AS plant, {VIEWS[table]} FROM {name}")

    for n, (plant, place) in enumerate(found):
        for m, file in enumerate(sorted(place.glob("states*.parquet"))):
            engine.register_parquet(f"states_{n}_{m}", str(file))
            part("states", plant, f"states_{n}_{m}")
        if (place / "counts.parquet").is_file():
            engine.register_parquet(f"counts_{n}", str(place / "counts.parquet"))
            part("counts", plant, f"counts_{n}")
        for table, columns in BOOK.items():
            convert = pyarrow.csv.ConvertOptions(column_types=columns, strings_can_be_null=True)
            read = pyarrow.csv.read_csv(place / f"{table}.csv", convert_options=convert)
            engine.from_arrow(read, f"{table}_{n}")
            part(table, plant, f"{table}_{n}")
    parts["counts"] = parts["counts"] or [NO_COUNTS]
    for table, selects in parts.items():
        engine.sql(f"CREATE VIEW {table} AS " + " UNION ALL ".join(selects)).collect()
    return engine


def ask(engine, question):
    """The answer, as a table."""
    file = SQL / f"{question}.sql" if question in QUESTIONS else pathlib.Path(question)
    if not file.is_file():
        raise SystemExit(f"{question}: neither a file nor one of {', '.join(QUESTIONS)}")
    return engine.sql(file.read_text(encoding="utf-8")).to_arrow_table()


def main(arguments):
    if len(arguments) not in (2, 3):
        raise SystemExit(__doc__.strip())
    found = plants(arguments[0])
    start = time.perf_counter()
    answer = ask(tables(found), arguments[1])
    seconds = time.perf_counter() - start
    if len(arguments) == 3:
        pyarrow.csv.write_csv(answer, arguments[2])
    else:
        pyarrow.csv.write_csv(answer, sys.stdout.buffer)
    print(f"{answer.num_rows} rows of {len(found)} plants in {seconds:.1f} s", file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1:])
