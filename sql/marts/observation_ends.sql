-- marts.observation_ends: one row per source and depot, made anew at each build. The end of observation of a source
-- is the extraction date of its calls and visits where all those files have one, else the later of the dates given and
-- its latest timestamp. An extraction date is often a day alone, kept as its midnight: where the latest record is of that
-- day, the source was watched until then at least. A depot whose last record lies more than 14 days before that has its own end.
create or replace temp table ends as
with known_places as (
    select place, source, depot from marts.observation_ends
    union
    select place, source, depot from places
),

extractions as (
    select
        source,
        max(extracted_on) as extracted_on,
        bool_or(extracted_on is null) as some_undated
    from loads.files
    where table_name in ('calls', 'visits')
    group by source
),

seen_places as (
    select places.place, places.source, places.depot, max(calls.last_seen_at) as last_seen_at
    from marts.calls
    inner join known_places as places on places.place = calls.place
    group by all
),

sources as (
    select
        places.source,
        max(places.last_seen_at) as last_seen_at,
        any_value(extractions.extracted_on) as extracted_on,
        coalesce(any_value(extractions.some_undated), true) as some_undated
    from seen_places as places
    left join extractions on extractions.source = places.source
    group by places.source
),

last_seen as (
    select *, some_undated or last_seen_at::date = extracted_on::date as counts
    from sources
),

source_ends as (
    select
        source,
        if(counts, greatest(extracted_on, last_seen_at), extracted_on) as ends_at,
        if(counts and (extracted_on is null or last_seen_at > extracted_on), 'latest timestamp', 'extraction date')
            as ends_from
    from last_seen
),

judged as (
    select
        places.*,
        source_ends.ends_at as source_ends_at,
        source_ends.ends_from,
        places.depot <> '' and places.last_seen_at < source_ends.ends_at - interval 14 day as fell_silent
    from seen_places as places
    inner join source_ends on source_ends.source = places.source
)

select
    place,
    source,
    depot,
    if(fell_silent, last_seen_at, source_ends_at) as ends_at,
    source_ends_at,
    if(fell_silent, 'own last record', ends_from) as ends_from,
    ends_from as source_ends_from
from judged;

delete from marts.observation_ends;

insert into marts.observation_ends by name
from ends;
