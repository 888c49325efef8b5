-- Set the staged visits aside that lie at $far_moment, long after everything else of their source.
-- Grain: one row per visit.
update staged
set reasons = [
    case when left_at = $far_moment
        then reason('far_after_others', 'left_at', strftime(left_at, '%Y-%m-%d %H:%M'))
        else reason('far_after_others', 'arrived_at', strftime(arrived_at, '%Y-%m-%d %H:%M')) end
]
where moment = $far_moment and reasons is null;
