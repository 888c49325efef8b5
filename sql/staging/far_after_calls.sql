-- Set the staged calls aside that lie at $far_moment, long after everything else of their source.
-- Grain: one row per call.
update staged
set reasons = [
    case when closed_at = $far_moment
        then reason('far_after_others', 'closed_at', strftime(closed_at, '%Y-%m-%d %H:%M'))
        else reason('far_after_others', 'opened_at', strftime(opened_at, '%Y-%m-%d %H:%M')) end
]
where moment = $far_moment and reasons is null;
