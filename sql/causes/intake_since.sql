-- intake_since: what was known of calls opened after $since. One row a repair call, by opening. Columns: those of marts.intake.
select *
from marts.intake
where opened_at > $since::timestamp
order by opened_at, call_id;
