-- marts.returns: one row per return, call it is counted against in one of the windows, and match.
insert into marts.returns by name
select
    charged.unit_id,
    charged.call_id as charged_call_id,
    later.call_id as return_call_id,
    charges.match,
    charges.gap_days,
    charges.compared_as_dates,
    (charges.window_bits & 31)::utinyint as window_bits,
    later.opened_at as return_opened_at,
    coalesce(call_visits.repair_technician, later.technician_id) as return_technician,
    later.cause as return_cause
from charges
inner join coded_calls as charged on charged.call_row = charges.charged_row
inner join coded_calls as later on later.call_row = charges.return_row
left join call_visits on call_visits.call_row = charges.return_row
where (charges.window_bits & 31) <> 0;
