-- The figures of ISO 22400-2 by plant, shop, line and station, and mean times
-- between stops and to repair.
--
-- Asks the tables states, counts, planned and hours (see docs/plants.md); times
-- are whole microseconds of universal time, so that nothing here depends on an
-- engine's own arithmetic of stamps. A group's ratios are those of its sums.
WITH
-- What a unit did, one row after the other.
unit_rows AS (
    SELECT plant, station, unit, began_us, ended_us, state, product, item,
        ROW_NUMBER() OVER (
            PARTITION BY plant, station, unit ORDER BY began_us, ended_us
        ) AS n
    FROM states
    WHERE ended_us > began_us
),
places AS (
    SELECT plant, station, MAX(shop) AS shop, COALESCE(MAX(line), '') AS line,
        MAX(CASE WHEN COALESCE(product, '') = '' THEN cycle_s END) AS cycle_s
    FROM planned
    GROUP BY plant, station
),
-- A job is what a unit works on until it takes up another item; it may wait or
-- set up half way. Windows over a unit's rows find its first row and its last, and
-- the unit's own last by its number, not by looking one row ahead: millions of
-- jobs as groups of their own, or the look ahead, cost our engine twenty times as
-- much.
steps AS (
    SELECT plant, station, unit, n, ended_us, state, product, COALESCE(item, '') AS item,
        MAX(n) OVER (PARTITION BY plant, station, unit) AS last_n
    FROM unit_rows
    WHERE state IN ('working', 'setup', 'starved', 'blocked')
),
working AS (
    SELECT plant, station, unit, n, ended_us, product, item, last_n,
        LAG(item) OVER (PARTITION BY plant, station, unit ORDER BY n) AS item_before,
        LEAD(item) OVER (PARTITION BY plant, station, unit ORDER BY n) AS item_behind
    FROM steps
    WHERE state = 'working'
),
ends AS (
    SELECT plant, station, unit, n, ended_us, product, item, last_n,
        COALESCE(item_before <> item, TRUE) AS is_first,
        COALESCE(item_behind <> item, TRUE) AS is_last
    FROM working
    WHERE COALESCE(item_before <> item, TRUE) OR COALESCE(item_behind <> item, TRUE)
),
from_first AS (
    SELECT plant, station, n, ended_us, item, last_n, is_last,
        CASE WHEN is_first THEN n ELSE LAG(n) OVER (
            PARTITION BY plant, station, unit ORDER BY n
        ) END AS first_n,
        CASE WHEN is_first THEN product ELSE LAG(product) OVER (
            PARTITION BY plant, station, unit ORDER BY n
        ) END AS product
    FROM ends
),
-- The job that is worked on as the log ends is not done; of the one in hand at
-- its begin the cycle is not known.
jobs AS (
    SELECT plant, station, first_n > 1 AS whole, ended_us - 1 AS last_us, product
    FROM from_first
    WHERE is_last AND item <> '' AND n < last_n
),
-- The stretch of time in which a job was done is the last one that began by
-- then: a running maximum over jobs and begins in the order of time, where a
-- join of every job with all stretches of its day looks at ten times as many.
in_order AS (
    SELECT plant, station, last_us AS at_us, 1 AS is_job, whole, product,
        CAST(NULL AS BIGINT) AS begin_us, CAST(NULL AS BIGINT) AS end_us
    FROM jobs
    UNION ALL
    SELECT x.plant, x.station, h.began_us AS at_us, 0 AS is_job, FALSE AS whole,
        NULL AS product, h.began_us AS begin_us, h.ended_us AS end_us
    FROM places x
    JOIN hours h ON h.plant = x.plant AND h.shop = x.shop
),
placed AS (
    SELECT plant, station, at_us, is_job, whole, product,
        MAX(begin_us) OVER (
            PARTITION BY plant, station ORDER BY at_us, is_job
            ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
        ) AS began_us,
        MAX(end_us) OVER (
            PARTITION BY plant, station ORDER BY at_us, is_job
            ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
        ) AS ended_us
    FROM in_order
),
-- Few rows from here on: jobs of a station, stretch and product are one.
jobs_of_stretch AS (
    SELECT plant, station, began_us, product, whole, COUNT(*) AS jobs
    FROM placed
    WHERE is_job = 1 AND at_us < ended_us
    GROUP BY plant, station, began_us, product, whole
),
jobs_of_turn AS (
    SELECT j.plant, j.station, h.day, h.shift,
        SUM(j.jobs) AS jobs,
        SUM(CASE WHEN j.whole AND COALESCE(p.cycle_s, x.cycle_s) IS NOT NULL THEN j.jobs ELSE 0 END)
            AS known,
        SUM(CASE WHEN j.whole THEN j.jobs * COALESCE(p.cycle_s, x.cycle_s) ELSE 0 END)
            AS planned_s
    FROM jobs_of_stretch j
    JOIN places x ON x.plant = j.plant AND x.station = j.station
    JOIN hours h ON h.plant = j.plant AND h.shop = x.shop AND h.began_us = j.began_us
    LEFT JOIN planned p ON p.plant = j.plant AND p.station = j.station
        AND p.product = j.product
    GROUP BY j.plant, j.station, h.day, h.shift
),
counts_of_turn AS (
    SELECT c.plant, c.station, h.day, h.shift,
        SUM(c.made) AS made, SUM(c.rework) AS rework, SUM(c.scrap) AS scrap
    FROM counts c
    JOIN places x ON x.plant = c.plant AND x.station = c.station
    -- A count up to the end of a shift belongs to that shift.
    JOIN hours h ON h.plant = c.plant AND h.shop = x.shop
        AND h.utc_day = CAST(FLOOR((c.time_us - 1) / 86400000000) AS BIGINT)
        AND h.began_us <= c.time_us - 1 AND c.time_us - 1 < h.ended_us
    GROUP BY c.plant, c.station, h.day, h.shift
),
-- Of a station with counts only these are asked what it made.
counted AS (
    SELECT DISTINCT plant, station FROM counts_of_turn
),
turns AS (
    SELECT COALESCE(j.plant, c.plant) AS plant, COALESCE(j.station, c.station) AS station,
        j.jobs, j.known, j.planned_s, c.made,
        COALESCE(c.rework, 0) AS rework, COALESCE(c.scrap, 0) AS scrap
    FROM jobs_of_turn j
    FULL OUTER JOIN counts_of_turn c ON c.plant = j.plant AND c.station = j.station
        AND c.day = j.day AND c.shift = j.shift
),
-- The planned seconds of a job in a shift that has none of its own: the mean of
-- the log, else the book's where it is one for all products.
made AS (
    SELECT t.plant, t.station,
        CASE WHEN k.station IS NULL THEN t.jobs ELSE COALESCE(t.made, 0) END AS made,
        t.rework, t.scrap,
        COALESCE(
            t.planned_s / NULLIF(t.known, 0),
            SUM(t.planned_s) OVER (PARTITION BY t.plant, t.station)
                / NULLIF(SUM(t.known) OVER (PARTITION BY t.plant, t.station), 0),
            x.cycle_s,
            0
        ) AS run_s
    FROM turns t
    LEFT JOIN counted k ON k.plant = t.plant AND k.station = t.station
    LEFT JOIN places x ON x.plant = t.plant AND x.station = t.station
),
made_of_station AS (
    SELECT plant, station,
        SUM(made) AS made, SUM(rework) AS rework, SUM(scrap) AS scrap,
        SUM(run_s * made) AS planned_run_s,
        SUM(run_s * (made - rework - scrap)) AS planned_good_s
    FROM made
    GROUP BY plant, station
),
-- Starved, blocked and off count within planned time only. A row within a day
-- is looked up by that day; few run over midnight.
idle AS (
    SELECT u.plant, x.shop, u.station, u.state, u.began_us, u.ended_us,
        CAST(FLOOR(u.began_us / 86400000000) AS BIGINT) AS utc_day,
        CAST(FLOOR((u.ended_us - 1) / 86400000000) AS BIGINT) AS last_day
    FROM unit_rows u
    JOIN places x ON x.plant = u.plant AND x.station = u.station
    WHERE u.state IN ('starved', 'blocked', 'off')
),
idle_open AS (
    SELECT i.plant, i.station, i.state,
        LEAST(i.ended_us, h.ended_us) - GREATEST(i.began_us, h.began_us) AS us
    FROM idle i
    JOIN hours h ON h.plant = i.plant AND h.shop = i.shop AND h.utc_day = i.utc_day
    WHERE i.utc_day = i.last_day AND h.open
        AND h.began_us < i.ended_us AND h.ended_us > i.began_us
    UNION ALL
    SELECT i.plant, i.station, i.state,
        LEAST(i.ended_us, h.ended_us) - GREATEST(i.began_us, h.began_us) AS us
    FROM idle i
    JOIN hours h ON h.plant = i.plant AND h.shop = i.shop
    WHERE i.utc_day < i.last_day AND h.open
        AND h.began_us < i.ended_us AND h.ended_us > i.began_us
),
idle_of_station AS (
    SELECT plant, station,
        SUM(CASE WHEN state = 'starved' THEN us ELSE 0 END) / 1e6 AS starved_s,
        SUM(CASE WHEN state = 'blocked' THEN us ELSE 0 END) / 1e6 AS blocked_s,
        SUM(CASE WHEN state = 'off' THEN us ELSE 0 END) / 1e6 AS off_s
    FROM idle_open
    GROUP BY plant, station
),
busy_of_station AS (
    SELECT plant, station,
        SUM(CASE WHEN state = 'working' THEN ended_us - began_us ELSE 0 END) / 1e6 AS apt_s,
        SUM(CASE WHEN state = 'setup' THEN ended_us - began_us ELSE 0 END) / 1e6 AS aust_s,
        SUM(CASE WHEN state IN ('stopped', 'waiting') THEN ended_us - began_us ELSE 0 END)
            / 1e6 AS adet_s,
        SUM(CASE WHEN state = 'waiting' THEN ended_us - began_us ELSE 0 END) / 1e6 AS waiting_s
    FROM unit_rows
    GROUP BY plant, station
),
-- Planned busy time: open hours between a unit's first row and its last.
spans AS (
    SELECT u.plant, x.shop, u.station, u.unit,
        MIN(u.began_us) AS began_us, MAX(u.ended_us) AS ended_us
    FROM unit_rows u
    JOIN places x ON x.plant = u.plant AND x.station = u.station
    GROUP BY u.plant, x.shop, u.station, u.unit
),
open_of_station AS (
    SELECT s.plant, s.station,
        SUM(LEAST(s.ended_us, h.ended_us) - GREATEST(s.began_us, h.began_us)) / 1e6 AS open_s
    FROM spans s
    JOIN hours h ON h.plant = s.plant AND h.shop = s.shop
    WHERE h.open AND h.began_us < s.ended_us AND h.ended_us > s.began_us
    GROUP BY s.plant, s.station
),
-- Rows of one stop follow one another and name one cause; breaks part nothing.
running AS (
    SELECT plant, station, unit, began_us, state, cause,
        LAG(state) OVER (
            PARTITION BY plant, station, unit ORDER BY began_us, ended_us
        ) AS state_before,
        LAG(cause) OVER (
            PARTITION BY plant, station, unit ORDER BY began_us, ended_us
        ) AS cause_before
    FROM states
    WHERE ended_us > began_us AND state <> 'off'
),
stops_of_station AS (
    SELECT plant, station, COUNT(*) AS stops
    FROM running
    WHERE state IN ('stopped', 'waiting')
        AND NOT (
            COALESCE(state_before, '') IN ('stopped', 'waiting')
            AND COALESCE(cause_before, '') = COALESCE(cause, '')
        )
    GROUP BY plant, station
),
stations AS (
    SELECT b.plant, x.shop, x.line, b.station,
        COALESCE(o.open_s, 0) - COALESCE(i.off_s, 0) AS pbt_s,
        b.apt_s, b.aust_s, b.adet_s, b.waiting_s,
        COALESCE(i.starved_s, 0) AS starved_s,
        COALESCE(i.blocked_s, 0) AS blocked_s,
        COALESCE(m.made, 0) AS made,
        COALESCE(m.rework, 0) AS rework,
        COALESCE(m.scrap, 0) AS scrap,
        COALESCE(m.planned_run_s, 0) AS planned_run_s,
        COALESCE(m.planned_good_s, 0) AS planned_good_s,
        COALESCE(s.stops, 0) AS stops
    FROM busy_of_station b
    JOIN places x ON x.plant = b.plant AND x.station = b.station
    LEFT JOIN open_of_station o ON o.plant = b.plant AND o.station = b.station
    LEFT JOIN idle_of_station i ON i.plant = b.plant AND i.station = b.station
    LEFT JOIN made_of_station m ON m.plant = b.plant AND m.station = b.station
    LEFT JOIN stops_of_station s ON s.plant = b.plant AND s.station = b.station
),
sums AS (
    SELECT plant, shop, line, station,
        SUM(pbt_s) AS pbt_s, SUM(apt_s) AS apt_s, SUM(aust_s) AS aust_s,
        SUM(adet_s) AS adet_s, SUM(waiting_s) AS waiting_s,
        SUM(starved_s) AS starved_s, SUM(blocked_s) AS blocked_s,
        SUM(made) AS made, SUM(rework) AS rework, SUM(scrap) AS scrap,
        SUM(planned_run_s) AS planned_run_s, SUM(planned_good_s) AS planned_good_s,
        SUM(stops) AS stops
    FROM stations
    GROUP BY GROUPING SETS (
        (plant, shop, line, station), (plant, shop, line), (plant, shop), (plant), ()
    )
    -- Stations without a line are no line together.
    HAVING NOT (GROUPING(station) = 1 AND GROUPING(line) = 0 AND line = '')
)
SELECT plant, shop, line, station,
    pbt_s, apt_s, aust_s, adet_s, waiting_s, starved_s, blocked_s,
    made, rework, scrap, stops,
    apt_s / NULLIF(pbt_s, 0) AS availability,
    NULLIF(planned_run_s, 0) / NULLIF(apt_s, 0) AS effectiveness,
    planned_good_s / NULLIF(planned_run_s, 0) AS quality_ratio,
    NULLIF(planned_good_s, 0) / NULLIF(pbt_s, 0) AS oee,
    (apt_s + aust_s) / NULLIF(pbt_s, 0) * (NULLIF(planned_good_s, 0) / NULLIF(apt_s, 0)) AS nee,
    aust_s / NULLIF(apt_s + aust_s, 0) AS setup_ratio,
    apt_s / NULLIF(apt_s + adet_s, 0) AS technical_efficiency,
    CAST(made - rework - scrap AS DOUBLE) / NULLIF(made, 0) AS first_pass_yield,
    (apt_s + aust_s) / 60 / NULLIF(stops, 0) AS mtbf_min,
    (adet_s - waiting_s) / 60 / NULLIF(stops, 0) AS mttr_min
FROM sums
ORDER BY plant, shop, line, station
