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
-- set up half way.
steps AS (
    SELECT plant, station, unit, n, began_us, ended_us, state, product, item,
        LEAD(n) OVER (PARTITION BY plant, station, unit ORDER BY n) AS next_n
    FROM unit_rows
    WHERE state IN ('working', 'setup', 'starved', 'blocked')
),
working AS (
    SELECT plant, station, unit, n, began_us, ended_us, product, item, next_n,
        LAG(COALESCE(item, '')) OVER (
            PARTITION BY plant, station, unit ORDER BY n
        ) AS item_before
    FROM steps
    WHERE state = 'working'
),
numbered AS (
    SELECT plant, station, unit, n, began_us, ended_us, product, item, next_n,
        SUM(CASE WHEN item_before = COALESCE(item, '') THEN 0 ELSE 1 END)
            OVER (PARTITION BY plant, station, unit ORDER BY n) AS job
    FROM working
),
jobs AS (
    SELECT plant, station, unit, job, MAX(product) AS product,
        SUM(ended_us - began_us) / 1e6 AS worked_s
    FROM numbered
    WHERE item IS NOT NULL
    GROUP BY plant, station, unit, job
    HAVING COUNT(next_n) = COUNT(*) AND MIN(n) > 1
)
SELECT plant, station, COALESCE(product, '-') AS product, COUNT(*) AS jobs,
    AVG(worked_s) AS mean_s,
    STDDEV_SAMP(worked_s) AS deviation_s
FROM jobs
GROUP BY plant, station, COALESCE(product, '-')
ORDER BY plant, station, product
