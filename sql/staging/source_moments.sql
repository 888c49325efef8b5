-- What is known of the time of one source: dated rows it has brought, and its latest moment. Grain: one row.
-- Binds $source.
select coalesce(sum(loaded + updated), 0)::bigint as dated_rows, max(latest_at) as latest_at
from loads.files
where source = $source and table_name in ('calls', 'visits');
