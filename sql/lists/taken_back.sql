-- Files that were taken back, latest first; the columns of loads.files without the mapping, taken_back_by (the load that
-- did it) and taken_back_at.
select taken_back.* exclude (mapping), loads.started_at as taken_back_at
from loads.taken_back
left join loads.loads on loads.load_id = taken_back.taken_back_by
order by taken_back.taken_back_by desc, taken_back.file_id desc;
