-- Macros of the staging area: how a file is read, and how one written value becomes a typed one.

-- The records of a file as text, one column a field, named as the intake decided. Nothing is sniffed.
create or replace temp macro file_rows(file_path, skipped_lines, file_columns, separator, quote_sign) as table
    from read_csv(
        file_path,
        header = false, skip = skipped_lines, columns = file_columns, auto_detect = false,
        delim = separator, quote = quote_sign, escape = quote_sign, nullstr = '', max_line_size = 2000000
    );

-- An id or a text, without the spaces around it; null when nothing is left.
create or replace temp macro as_text(written) as nullif(trim(written), '');

-- A date or time by the first of the given strptime formats that fits; `zoned`: an offset from UTC is cut off first.
create or replace temp macro as_moment(written, formats, zoned) as
    try_strptime(
        case when zoned then regexp_replace(written, '\s*([zZ]|[+-]\d\d:?\d\d)\s*$', '') else written end, formats
    );

-- A finite number; `comma`: the comma is the decimal sign, and points part the thousands.
create or replace temp macro as_number(written, comma) as
    case when isfinite(try_cast(case when comma then replace(replace(written, '.', ''), ',', '.') else written end as double))
        then try_cast(case when comma then replace(replace(written, '.', ''), ',', '.') else written end as double)
    end;

-- One reason for setting a row aside.
create or replace temp macro reason(code, column_at_fault, value_found) as
    {'reason': code, 'column_name': column_at_fault, 'found': left(value_found, 200)};

-- Is a date as it should be: nothing written, or a day from 1990 until the given end?
create or replace temp macro moment_holds(written, moment, latest) as
    written is null or coalesce(moment >= timestamp '1990-01-01' and moment < latest, false);

-- What is wrong with a date, or null. `latest`: the first moment that can not be, and `latest_reason` why it can not.
create or replace temp macro moment_reason(name, written, moment, latest, latest_reason) as
    case
        when written is null then null
        when moment is null then reason('not_a_date', name, written)
        when moment < timestamp '1990-01-01' then reason('too_old', name, written)
        when moment >= latest then reason(latest_reason, name, written)
    end;

-- What is wrong with a value that must be there, or null.
create or replace temp macro filled_reason(name, value) as
    case when value is null then reason('missing_value', name, null) end;

-- What is wrong with a number, or null.
create or replace temp macro number_reason(name, written, value) as
    case when written is not null and value is null then reason('not_a_number', name, written) end;

-- What is wrong with a row that repeats the header, or null. `header_word`: the header of the first key column.
create or replace temp macro header_reason(name, value, header_word) as
    case when value = header_word then reason('repeated_header', name, value) end;

-- The reasons that there are, without the nulls.
create or replace temp macro reasons_of(candidates) as list_filter(candidates, lambda each: each is not null);

-- Does something end before it began? Compared as days where either time has no time of day.
create or replace temp macro ends_before(began, began_has_time, ended, ended_has_time) as
    case when began_has_time and ended_has_time then ended < began else ended::date < began::date end;
