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
steps AS (
    SELECT plant, station, unit, n, began_us, ended_us, state, product, item,
        LAG(state) OVER (PARTITION BY plant, station, unit ORDER BY n) AS state_before,
        LAG(item) OVER (PARTITION BY plant, station, unit ORDER BY n) AS item_before,
        LEAD(n) OVER (PARTITION BY plant, station, unit ORDER BY n) AS next_n
    FROM unit_rows
    WHERE state IN ('working', 'setup', 'starved', 'blocked')
),
numbered AS (
    SELECT plant, station, unit, n, began_us, ended_us, product, next_n,
        SUM(CASE WHEN state_before = 'working' AND item_before = item THEN 0 ELSE 1 END)
            OVER (PARTITION BY plant, station, unit ORDER BY n) AS job
    FROM steps
    WHERE state = 'working' AND item IS NOT NULL
),
jobs AS (
    SELECT plant, station, unit, job, MAX(product) AS product,
        SUM(ended_us - began_us) / 1e6 AS worked_s
    FROM numbered
    GROUP BY plant, station, unit, job
    HAVING COUNT(next_n) = COUNT(*) AND MIN(n) > 1
)
SELECT plant, station, COALESCE(product, '-') AS product, COUNT(*) AS jobs,
    AVG(worked_s) AS mean_s,
    STDDEV_SAMP(worked_s) AS deviation_s
FROM jobs
GROUP BY plant, station, COALESCE(product, '-')
ORDER BY plant, station, product
