"""A second flow simulation, in SimPy, of the questions that Linewright answers.

Written from the description of the question alone, in the usual SimPy manner:
a process for every unit, interrupts for stops by the clock, containers for
places and carts. Slow, and meant to share nothing with the engine: neither
its departure recursion, nor its clock, nor its random numbers.

Where the description leaves a choice, this is it, and the engine's is the same:

- a job is as old as the oldest part in it, and joined parts are one job;
- a station that is down by the clock still takes the next job in, and counts as
  stopped only while that job waits for it; without a job it is starved;
- what waits for a cart is starved.
"""

import math
import random

import simpy


def sampler(spec, draw):
    """A function that draws from a distribution of the question."""
    (kind, value), *more = spec.items()
    assert not more, spec
    match kind:
        case "fixed":
            return lambda: value
        case "exponential":
            return lambda: draw.expovariate(1.0 / value)
        case "uniform":
            return lambda: draw.uniform(*value)
        case "triangular":
            low, mode, high = value
            return lambda: draw.triangular(low, high, mode)
        case "erlang":
            k, mean = value
            return lambda: draw.gammavariate(k, mean / k)
        case "lognormal":
            # Mean and spread are those of the time, not of its logarithm.
            mean, cv = value
            spread = math.log(1.0 + cv * cv)
            middle = math.log(mean) - spread / 2
            return lambda: draw.lognormvariate(middle, math.sqrt(spread))
        case "weibull":
            shape, scale = value
            return lambda: draw.weibullvariate(scale, shape)
        case "empirical":
            return lambda: draw.choice(value)
    raise ValueError(f"no such distribution: {kind}")


class Job:
    def __init__(self, born):
        self.born = born
        self.carts = []


class Link:
    """Places between two stations, and the job on its way in one of them."""

    def __init__(self, plant, holds, move_s, share=1.0):
        self.env = plant.env
        self.hand_to_hand = holds == 0
        self.places = simpy.Container(self.env, holds, holds) if holds else None
        self.move_s = move_s
        self.share = share
        self.inbox = None
        self.on_arrival = None
        assert not (self.hand_to_hand and move_s), "hand to hand takes no time"

    def give(self, job):
        """Ends when the job is off the hands of the station above."""
        if self.hand_to_hand:
            taken = self.env.event()
            self._arrived(job, taken)
            yield taken
            return
        if self.places:
            yield self.places.get(1)
        if self.move_s:
            self.env.process(self._carry(job))
        else:
            self._arrived(job, None)

    def _carry(self, job):
        yield self.env.timeout(self.move_s)
        self._arrived(job, None)

    def _arrived(self, job, taken):
        self.inbox.put((job, self, taken))
        if self.on_arrival is not None:
            self.on_arrival()

    def took(self, taken):
        if taken is not None:
            taken.succeed()
        if self.places:
            self.places.put(1)


class Fleet:
    def __init__(self, plant, asked):
        self.env = plant.env
        self.carts = simpy.Container(self.env, asked["count"], asked["count"])
        self.return_s = asked.get("return_s", 0)

    def send_back(self):
        yield self.env.timeout(self.return_s)
        self.carts.put(1)


class Station:
    def __init__(self, plant, asked):
        self.plant = plant
        self.name = asked["name"]
        self.asked = asked
        self.cycle = sampler(asked["cycle"], plant.draw)
        self.incoming = []
        self.outgoing = []
        self.rework = None
        self.takes_cart = []
        self.returns_cart = []
        self.first_time_ok = asked.get("first_time_ok", 1.0)
        self.scrap = asked.get("scrap", 0.0)
        self.splits = asked.get("gives") == "one_to_each"
        self.merges = asked.get("takes") == "one_of_each"
        self.as_they_come = asked.get("loads") == "as_they_come"
        self.units = [Unit(self) for _ in range(asked.get("units", 1))]
        # One queue for a station that takes whatever came first, one for each
        # link where one of each is needed.
        self.inbox = simpy.Store(plant.env)
        assert not self.splits, "no plant here needs a split"

    def fed_by(self, link):
        link.inbox = simpy.Store(self.plant.env) if self.merges else self.inbox
        self.incoming.append(link)

    def way_out(self):
        """Where the job in hand goes; none out of the plant."""
        draw = self.plant.draw
        if self.scrap and draw.random() < self.scrap:
            return "scrap"
        if self.first_time_ok < 1.0 and draw.random() >= self.first_time_ok:
            return self.rework or "scrap"
        if len(self.outgoing) > 1:
            return draw.choices(self.outgoing, [link.share for link in self.outgoing])[0]
        return self.outgoing[0] if self.outgoing else "out"


class Unit:
    """One of the like places of work of a station."""

    STATES = ("working", "starved", "blocked", "stopped")

    def __init__(self, station):
        self.station = station
        self.plant = plant = station.plant
        self.env = plant.env
        self.state = "starved"
        self.since = 0.0
        self.spent = dict.fromkeys(self.STATES, 0.0)
        self.wear = []
        self.down = 0
        self.up_again = None
        self.at_work = False
        for stop in station.asked.get("stops", []):
            between = sampler(stop["between"], plant.draw)
            repair = sampler(stop["repair"], plant.draw)
            if stop["basis"] == "clock":
                self.env.process(self.stop_by_the_clock(between, repair))
            else:
                self.wear.append([between(), between, repair])
        self.process = self.env.process(self.work())

    def enter(self, state):
        self.spent[self.state] += self.plant.measured_part(self.since, self.env.now)
        self.state = state
        self.since = self.env.now

    def stop_by_the_clock(self, between, repair):
        while True:
            yield self.env.timeout(between())
            if self.down == 0:
                self.up_again = self.env.event()
            self.down += 1
            if self.at_work:
                self.process.interrupt()
            yield self.env.timeout(repair())
            self.down -= 1
            if self.down == 0:
                self.up_again.succeed()

    def work(self):
        station, plant, env = self.station, self.plant, self.env
        while True:
            job = yield from self.next_job()
            yield from self.do(station.cycle())
            way = station.way_out()
            if way in ("out", "scrap"):
                plant.left(job, good=way == "out")
            else:
                self.enter("blocked")
                yield from way.give(job)
            for fleet in station.returns_cart:
                if fleet in job.carts:
                    job.carts.remove(fleet)
                    env.process(fleet.send_back())
            self.enter("starved")

    def next_job(self):
        station, plant, env = self.station, self.plant, self.env
        for fleet in station.takes_cart:
            yield fleet.carts.get(1)
        if not station.incoming:
            job = Job(env.now)
            plant.entered()
        elif not station.merges:
            job, link, taken = yield station.inbox.get()
            link.took(taken)
        else:
            job = yield from self.merged()
        job.carts.extend(station.takes_cart)
        return job

    def merged(self):
        links = self.station.incoming
        if self.station.as_they_come:
            gets = [link.inbox.get() for link in links]
            for link, get in zip(links, gets):
                get.callbacks.append(lambda done, link=link: link.took(done.value[2]))
            yield self.env.all_of(gets)
            parts = [get.value for get in gets]
        else:
            while not all(link.inbox.items for link in links):
                news = self.env.event()
                for link in links:
                    link.on_arrival = lambda: news.triggered or news.succeed()
                yield news
            parts = []
            for link in links:
                part = yield link.inbox.get()
                link.took(part[2])
                parts.append(part)
        for _ in parts[1:]:
            self.plant.joined()
        return min((part[0] for part in parts), key=lambda job: job.born)

    def do(self, left):
        """A cycle of `left` seconds with the stops that fall into it."""
        env = self.env
        while True:
            while self.down:
                self.enter("stopped")
                yield self.up_again
            step = min([left, *(wear[0] for wear in self.wear)])
            self.enter("working")
            begun = env.now
            self.at_work = True
            try:
                yield env.timeout(step)
                done = step
            except simpy.Interrupt:
                done = env.now - begun
            self.at_work = False
            left -= done
            for wear in self.wear:
                wear[0] -= done
            if left <= 0:
                return
            for wear in self.wear:
                if wear[0] <= 0:
                    self.enter("stopped")
                    yield env.timeout(wear[2]())
                    wear[0] = wear[1]()


class Plant:
    """One replication of a question."""

    def __init__(self, question, seed):
        self.env = simpy.Environment()
        self.draw = random.Random(seed)
        run = question["run"]
        self.start = run["warm_up_s"]
        self.end = self.start + run["length_s"]
        self.jobs = 0
        self.changed = 0.0
        self.job_seconds = 0.0
        self.times = []
        self.stations = {s["name"]: Station(self, s) for s in question["stations"]}
        for asked in question.get("links", []):
            link = Link(self, asked["holds"], asked.get("move_s", 0), asked.get("share", 1.0))
            above = self.stations[asked["from"]]
            if above.asked.get("rework_to") == asked["to"]:
                above.rework = link
            else:
                above.outgoing.append(link)
            self.stations[asked["to"]].fed_by(link)
        for asked in question.get("arrivals", []):
            link = Link(self, None, 0)
            self.stations[asked["station"]].fed_by(link)
            self.env.process(self.arrivals(sampler(asked["between"], self.draw), link))
        for asked in question.get("fleets", []):
            fleet = Fleet(self, asked)
            self.stations[asked["taken_at"]].takes_cart.append(fleet)
            self.stations[asked["returned_at"]].returns_cart.append(fleet)

    def arrivals(self, between, link):
        while True:
            yield self.env.timeout(between())
            self.entered()
            yield from link.give(Job(self.env.now))

    def measured_part(self, since, until):
        return max(0.0, min(until, self.end) - max(since, self.start))

    def _count(self, change):
        self.job_seconds += self.jobs * self.measured_part(self.changed, self.env.now)
        self.changed = self.env.now
        self.jobs += change

    def entered(self):
        self._count(+1)

    def joined(self):
        self._count(-1)

    def left(self, job, good):
        self._count(-1)
        if good and self.env.now > self.start:
            self.times.append(self.env.now - job.born)

    def run(self):
        """The figures of this replication, by name."""
        self.env.run(until=self.end)
        self._count(0)
        length = self.end - self.start
        times = sorted(self.times)
        at = lambda p: times[math.ceil(p * len(times)) - 1]
        figures = {
            "rate_per_h": 3600.0 * len(times) / length,
            "jobs_in_plant": self.job_seconds / length,
            "time_in_plant_s": sum(times) / len(times),
            "p10": at(0.1),
            "p50": at(0.5),
            "p90": at(0.9),
        }
        for station in self.stations.values():
            for unit in station.units:
                unit.enter(unit.state)
            for state in Unit.STATES:
                spent = sum(unit.spent[state] for unit in station.units)
                figures[f"{station.name}: {state}"] = spent / length / len(station.units)
        return figures
