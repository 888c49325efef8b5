-- thoughts_by_technician: whether a trouble was taken for another at first. One row per mature string of returns: the window of its
-- last completed call has passed ($cutoffs, as in marts.selection), last closed between $closed_from and $closed_before
-- and first called in one of $depots (null or empty: whenever, all).
-- Columns: closed_at (of its last call); technician (who first recorded a diagnosis) and cause (final), null: not known;
-- happened (another cause, or none, was thought of first; null: not known); deeper (it went deeper, which is not counted
-- as wrong); returns (calls after the first); and the mix, as words (null: not known): kind (family of the complaint;
-- several), symptom (several), product_family, supply, filter_age_band.
select
    diagnoses.last_closed_at as closed_at,
    diagnoses.technician,
    diagnoses.final_cause as cause,
    diagnoses.standing in ('different', 'none_found') as happened,
    coalesce(diagnoses.standing = 'went_deeper', false) as deeper,
    diagnoses.calls - 1 as returns,
    case len(sets.families) when 0 then null when 1 then sets.families[1] else 'several' end as kind,
    case len(sets.symptoms) when 0 then null when 1 then sets.symptoms[1] else 'several' end as symptom,
    diagnoses.product_family,
    diagnoses.supply,
    diagnoses.filter_age_band
from marts.diagnoses
left join marts.symptom_sets as sets on sets.symptom_set = diagnoses.symptom_set
where diagnoses.last_closed_at <= ($cutoffs::timestamp[])[diagnoses.place]
    and ($closed_from::timestamp is null or diagnoses.last_closed_at >= $closed_from::timestamp)
    and ($closed_before::timestamp is null or diagnoses.last_closed_at < $closed_before::timestamp)
    and (len($depots::varchar[]) = 0 or list_contains($depots::varchar[], diagnoses.depot));
