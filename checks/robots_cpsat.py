"""OR-Tools CP-SAT beside the body shop's allocation, on three small shops.

    LINEWRIGHT=target/release/linewright python3 checks/robots_cpsat.py [SECONDS]

Writes three small plant books, lets `linewright body` allocate their joints, and
solves the same with a model of every single joint in time: robots by station,
zones one at a time, geometry first, order, tool changes and the way back to the
first tool. Both must need the same number of robots. Needs `pip install
ortools`; no part of the tests.
"""

import csv
import io
import json
import pathlib
import subprocess
import sys
import tempfile

from ortools.sat.python import cp_model

from asking import Tally, binary

# Ticks of a second, as in the allocation.
TICKS = 100

COMMON = {
    "plant": "setting,value\nline_efficiency,1\nrobot_spare_share,0\nrobot_index_s,10\n",
    "products": "product,cars_per_week\nvan,4000\n",
    "materials": "material,density_kg_m3\nsoft,2700\n",
    "parts": "part,material,gauge_mm,source\nfloor,soft,1.5,bought\nmember,soft,2,bought\n",
    "shifts": "shop,shift,days,start,end,planned_stops_min\nbody,day,mon-fri,06:00,{end},0\n",
    "robots": "robot,kind,investment,tool_change_s,methods\njoiner,robot,100000,6,rivet;spot;adhesive\n",
}

HEAD = "join,assembly,method,count,length_mm,stack,station,zone,after,geometry,turns,flange_mm\n"

# Stations with the most robots each, joins, and when the shift ends: takt follows.
CASES = {
    "rivets and spots that share robots": (
        [("a", 2), ("b", 2)],
        "r1,floor,rivet,4,,floor;member,,left,,,0,20\n"
        "r2,floor,rivet,3,,floor;member,,right,,,0,20\n"
        "s1,floor,spot,5,,floor;member,,left,,,0,20\n"
        "s2,floor,spot,3,,floor;member,b,,r1,,0,20\n",
        "14:20",
    ),
    "a frame with geometry, then the rest": (
        [("frame", 2), ("respot", 3)],
        "g,floor,rivet,3,,floor;member,frame,mid,,yes,0,20\n"
        "left,floor,rivet,4,,floor;member,,left,g,,0,20\n"
        "right,floor,rivet,4,,floor;member,,right,g,,0,20\n"
        "end,floor,spot,3,,floor;member,,left,left,,0,20\n",
        "14:35",
    ),
    "beads below spots in one zone": (
        [("lay", 2), ("join", 2)],
        "bead,floor,adhesive,3,3000,floor;member,lay,flange,,,0,20\n"
        "through,floor,spot,6,,floor;member,,flange,bead,,0,20\n"
        "beside,floor,rivet,5,,floor;member,,rail,,,0,20\n",
        "14:25",
    ),
}


def write(folder, case):
    """A plant book as a folder of CSV."""
    stations, joins, end = case
    for name, text in COMMON.items():
        (folder / f"{name}.csv").write_text(text.replace("{end}", end))
    rows = "".join(f"{name},body,floor,,{most}\n" for name, most in stations)
    (folder / "stations.csv").write_text("station,shop,line,cycle_s,robots_most\n" + rows)
    names = [name for name, _ in stations]
    links = "".join(f"{one},{other}\n" for one, other in zip(names, names[1:]))
    (folder / "links.csv").write_text("from,to\n" + links)
    (folder / "joins.csv").write_text(HEAD + joins)


def asked(folder):
    """The allocation's answer."""
    done = subprocess.run([binary(), "body", str(folder), "--json"], stdout=subprocess.PIPE, text=True)
    answer = json.loads(done.stdout)
    if "robots" not in answer:
        sys.exit(f"no plan: {done.stdout}")
    return answer


def solved(answer, rows, seconds):
    """Fewest robots by a model of every joint, and the bound."""
    change = 6 * TICKS
    stations = [(row["station"], int(row["net_s"]["value"] * TICKS + 1e-6), row["robots_most"])
                for row in answer["stations"]]
    groups = {group["join"]: group for group in answer["groups"]}
    model = cp_model.CpModel()
    longest = max(net for _, net, _ in stations)
    used = {(s, i): model.new_bool_var(f"used{s}_{i}")
            for s, (_, _, most) in enumerate(stations) for i in range(most)}
    for s, i in used:
        if i > 0:
            model.add_implication(used[s, i], used[s, i - 1])
    tools = sorted({group["variant"] for group in groups.values()})
    home = {(slot, tool): model.new_bool_var(f"home{slot}_{tool}") for slot in used for tool in tools}
    for slot in used:
        model.add_exactly_one(home[slot, tool] for tool in tools)
    joints = []
    for row in rows:
        group = groups[row["join"]]
        ticks = -int(-(group["in_cycle_s"] * TICKS - 1e-6) // 1)
        for n in range(group["joints"]):
            start = model.new_int_var(0, longest, f"start{row['join']}{n}")
            at = {slot: model.new_bool_var(f"at{row['join']}{n}{slot}") for slot in used}
            model.add_exactly_one(at.values())
            here = [model.new_bool_var(f"here{row['join']}{n}_{s}") for s in range(len(stations))]
            for s, (name, net, _) in enumerate(stations):
                model.add(here[s] == sum(at[slot] for slot in used if slot[0] == s))
                if row["station"] and row["station"] != name:
                    model.add(here[s] == 0)
                model.add(start + ticks <= net).only_enforce_if(here[s])
            for slot in used:
                model.add_implication(at[slot], used[slot])
                net = stations[slot[0]][1]
                for tool in tools:
                    if tool != group["variant"]:
                        away = [at[slot], home[slot, tool]]
                        model.add(start >= change).only_enforce_if(away)
                        model.add(start + ticks + change <= net).only_enforce_if(away)
            joints.append((row, group, ticks, start, at, here))
    after = {row["join"]: set(filter(None, row["after"].split(";"))) for row in rows}

    def ancestors(join):
        found = set(after[join])
        for before in after[join]:
            found |= ancestors(before)
        return found

    for a, (row, group, ticks, start, at, here) in enumerate(joints):
        for b, (row2, group2, ticks2, start2, at2, here2) in enumerate(joints):
            if a == b:
                continue
            first = row["join"] in after[row2["join"]]
            if first:
                place = sum(s * h for s, h in enumerate(here))
                model.add(place <= sum(s * h for s, h in enumerate(here2)))
            geometry = group["geometry"] and not group2["geometry"] and \
                row2["join"] not in ancestors(row["join"])
            if first or geometry:
                for s in range(len(stations)):
                    model.add(start + ticks <= start2).only_enforce_if([here[s], here2[s]])
            if a < b:
                order = model.new_bool_var(f"order{a}_{b}")
                setup = change if group["variant"] != group2["variant"] else 0
                for slot in used:
                    both = [at[slot], at2[slot]]
                    model.add(start + ticks + setup <= start2).only_enforce_if(both + [order])
                    model.add(start2 + ticks2 + setup <= start).only_enforce_if(both + [order.Not()])
                if group["zone"] and group["zone"] == group2["zone"]:
                    for s in range(len(stations)):
                        both = [here[s], here2[s]]
                        model.add(start + ticks <= start2).only_enforce_if(both + [order])
                        model.add(start2 + ticks2 <= start).only_enforce_if(both + [order.Not()])
    model.minimize(sum(used.values()))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, None
    return round(solver.objective_value), round(solver.best_objective_bound)


def main():
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    tally = Tally()
    for name, case in CASES.items():
        with tempfile.TemporaryDirectory() as place:
            folder = pathlib.Path(place)
            write(folder, case)
            answer = asked(folder)
        rows = list(csv.DictReader(io.StringIO(HEAD + case[1])))
        robots, bound = solved(answer, rows, seconds)
        ours = answer["robots"] if answer["holds"] else None
        tally.line(ours == robots and (robots is None or robots == bound),
                   f"{name}: {ours} robots (no fewer than {answer['robots_bound']}), "
                   f"CP-SAT {robots} (no fewer than {bound})")
    sys.exit(tally.close())


if __name__ == "__main__":
    main()
