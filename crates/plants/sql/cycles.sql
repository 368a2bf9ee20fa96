-- Mean and deviation of the cycle by plant, station and product, of jobs whose
-- begin and end are in the log. Asks the table states (see docs/plants.md).
WITH
unit_rows AS (
    SELECT plant, station, unit, began_us, ended_us, state, product, item,
        ROW_NUMBER() OVER (
            PARTITION BY plant, station, unit ORDER BY began_us, ended_us
        ) AS n
    FROM states
    WHERE ended_us > began_us
),
-- A job is what a unit works on until it takes up another item; it may wait or
-- set up half way. Windows over a unit's rows find its first row and its last, and
-- the unit's own last by its number, not by looking one row ahead: millions of
-- jobs as groups of their own, or the look ahead, cost our engine twenty times as
-- much.
steps AS (
    SELECT plant, station, unit, n, began_us, ended_us, state, product,
        COALESCE(item, '') AS item,
        MAX(n) OVER (PARTITION BY plant, station, unit) AS last_n
    FROM unit_rows
    WHERE state IN ('working', 'setup', 'starved', 'blocked')
),
working AS (
    SELECT plant, station, unit, n, product, item, last_n,
        ended_us - began_us AS us,
        SUM(ended_us - began_us) OVER (
            PARTITION BY plant, station, unit ORDER BY n
            ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
        ) AS us_so_far,
        LAG(item) OVER (PARTITION BY plant, station, unit ORDER BY n) AS item_before,
        LEAD(item) OVER (PARTITION BY plant, station, unit ORDER BY n) AS item_behind
    FROM steps
    WHERE state = 'working'
),
ends AS (
    SELECT plant, station, unit, n, product, item, last_n, us_so_far,
        us_so_far - us AS us_before,
        COALESCE(item_before <> item, TRUE) AS is_first,
        COALESCE(item_behind <> item, TRUE) AS is_last
    FROM working
    WHERE COALESCE(item_before <> item, TRUE) OR COALESCE(item_behind <> item, TRUE)
),
from_first AS (
    SELECT plant, station, n, item, last_n, us_so_far, is_last,
        CASE WHEN is_first THEN n ELSE LAG(n) OVER (
            PARTITION BY plant, station, unit ORDER BY n
        ) END AS first_n,
        CASE WHEN is_first THEN us_before ELSE LAG(us_before) OVER (
            PARTITION BY plant, station, unit ORDER BY n
        ) END AS us_before,
        CASE WHEN is_first THEN product ELSE LAG(product) OVER (
            PARTITION BY plant, station, unit ORDER BY n
        ) END AS product
    FROM ends
),
jobs AS (
    SELECT plant, station, product, (us_so_far - us_before) / 1e6 AS worked_s
    FROM from_first
    WHERE is_last AND item <> '' AND n < last_n AND first_n > 1
)
SELECT plant, station, COALESCE(product, '-') AS product, COUNT(*) AS jobs,
    AVG(worked_s) AS mean_s,
    STDDEV_SAMP(worked_s) AS deviation_s
FROM jobs
GROUP BY plant, station, COALESCE(product, '-')
ORDER BY plant, station, product
