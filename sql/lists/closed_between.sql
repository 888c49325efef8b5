-- First and last day on which a call was closed. One row: first, last.
select min(closed_at)::date as first, max(closed_at)::date as last from marts.calls;
