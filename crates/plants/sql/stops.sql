-- Stops by cause, the most time down first, with the running share of each
-- plant (Pareto). Asks the table states (see docs/plants.md).
WITH
running AS (
    SELECT plant, station, state, cause, ended_us - began_us AS us,
        LAG(state) OVER (
            PARTITION BY plant, station, unit ORDER BY began_us, ended_us
        ) AS state_before,
        LAG(cause) OVER (
            PARTITION BY plant, station, unit ORDER BY began_us, ended_us
        ) AS cause_before
    FROM states
    WHERE ended_us > began_us AND state <> 'off'
),
causes AS (
    SELECT plant, station, COALESCE(cause, '-') AS cause,
        SUM(
            CASE
                WHEN COALESCE(state_before, '') IN ('stopped', 'waiting')
                    AND COALESCE(cause_before, '') = COALESCE(cause, '')
                THEN 0
                ELSE 1
            END
        ) AS stops,
        SUM(us) / 1e6 AS down_s,
        SUM(CASE WHEN state = 'waiting' THEN us ELSE 0 END) / 1e6 AS waiting_s
    FROM running
    WHERE state IN ('stopped', 'waiting')
    GROUP BY plant, station, COALESCE(cause, '-')
)
SELECT plant, station, cause, stops, down_s, waiting_s,
    down_s / SUM(down_s) OVER (PARTITION BY plant) AS share,
    SUM(down_s) OVER (
        PARTITION BY plant ORDER BY down_s DESC, station, cause
        ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
    ) / SUM(down_s) OVER (PARTITION BY plant) AS running_share
FROM causes
ORDER BY plant, down_s DESC, station, cause
