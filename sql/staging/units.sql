-- staged: the rows of one file of units, typed and judged on their own.
-- Grain: one row per record of the file, in its order. Columns: as in staging/calls, then records.units.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $installed_on_formats, $installed_on_zoned,
-- $retired_on_formats, $retired_on_zoned, $header_word, $latest, $latest_reason.
create or replace temp table staged as
with lacking as (
    select
        null::bigint as source_line, null::varchar as unit_id, null::varchar as installed_on,
        null::varchar as product_family, null::varchar as ice_maker_kind, null::varchar as filter_kind,
        null::varchar as water_supply, null::varchar as shutoff_valve, null::varchar as location,
        null::varchar as household_id, null::varchar as depot, null::varchar as retired_on
    where false
),
incoming as (
    from file_rows($path, $skip, $columns, $separator, $quote, $line_end, $longest_line)
    union all by name
    from lacking
),
typed as (
    select
        source_line,
        as_text(unit_id) as unit_id,
        as_words(installed_on) as installed_written,
        as_moment(installed_on, $installed_on_formats, $installed_on_zoned) as installed_on,
        as_text(product_family) as product_family,
        as_words(ice_maker_kind) as ice_maker_kind,
        as_words(filter_kind) as filter_kind,
        as_words(water_supply) as water_supply,
        as_words(shutoff_valve) as shutoff_valve,
        as_words(location) as location,
        as_text(household_id) as household_id,
        as_text(depot) as depot,
        as_words(retired_on) as retired_written,
        as_moment(retired_on, $retired_on_formats, $retired_on_zoned) as retired_on
    from incoming
),
judged as (
    select
        *,
        unit_id is not null and unit_id <> $header_word
            and moment_holds(installed_written, installed_on, $latest, earliest := timestamp '1950-01-01')
            and moment_holds(retired_written, retired_on, $latest) as holds
    from typed
)
select
    source_line,
    hash(unit_id) as key_hash,
    hash(
        unit_id, installed_on, product_family, ice_maker_kind, filter_kind, water_supply, shutoff_valve, location,
        household_id, depot, retired_on
    ) as row_hash,
    greatest(installed_on, retired_on) as moment,
    case
        when not holds then reasons_of([
            header_reason('unit_id', unit_id, $header_word),
            filled_reason('unit_id', unit_id),
            moment_reason(
                'installed_on', installed_written, installed_on, $latest, $latest_reason,
                earliest := timestamp '1950-01-01'
            ),
            moment_reason('retired_on', retired_written, retired_on, $latest, $latest_reason)
        ])
    end as reasons,
    unit_id, installed_on::date as installed_on, product_family, ice_maker_kind, filter_kind, water_supply,
    shutoff_valve, location, household_id, depot, retired_on::date as retired_on
from judged;
