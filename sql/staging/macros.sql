-- Macros of the staging area: how a file is read, and how one written value becomes a typed one.
-- No grain: nothing is stored.

-- The records of a file as text, one column a field, named as the intake decided. Nothing is sniffed.
create or replace temp macro file_rows(
    file_path, skipped_lines, file_columns, separator, quote_sign, line_end, longest_line
) as table
    from read_csv(
        file_path,
        header = false, skip = skipped_lines, columns = file_columns, auto_detect = false,
        delim = separator, quote = quote_sign, escape = quote_sign, new_line = line_end, nullstr = '',
        compression = 'none',  -- whatever its name ends with: one that is compressed was refused by its bytes
        max_line_size = longest_line, buffer_size = greatest(32000000, longest_line)
    );

-- The same, each with its number in the file (nth, 1-based). Counting keeps DuckDB from reading in parallel.
create or replace temp macro numbered_rows(
    file_path, skipped_lines, file_columns, separator, quote_sign, line_end, longest_line
) as table
    select row_number() over () as nth, *
    from file_rows(file_path, skipped_lines, file_columns, separator, quote_sign, line_end, longest_line);

-- Physical line on which a record begins: as the careful reader noted it, as record_lines has it, or one line each.
create or replace temp macro line_of(noted, found, nth, skipped_lines) as
    coalesce(noted, found, nth + skipped_lines);

-- Does a text hold a character beyond ASCII? Among them are spaces too, such as the one that does not break a line.
create or replace temp macro beyond_ascii(written) as strlen(written) <> length(written);

-- A text without what is blank around it: spaces of every width, and tabs, which some put before a number to keep its zeros.
create or replace temp macro bare(written) as
    nullif(regexp_replace(written, '^[\s\pZ]+|[\s\pZ]+$', '', 'g'), '');

-- An id or a text, without what is blank around it; null when nothing is left. (Trimming every value would cost more.)
create or replace temp macro as_text(written) as
    case
        when written < '!' or right(written, 1) < '!' or beyond_ascii(written) then bare(written)
        else written
    end;

-- The words of a coded column. Spaces behind them stay, since coding passes over them; spaces alone are nothing.
create or replace temp macro as_words(written) as
    case when written < '!' or beyond_ascii(written) then bare(written) else written end;

-- A date or time by the first of the given strptime formats that fits; `zoned`: an offset from UTC is cut off first.
create or replace temp macro as_moment(written, formats, zoned) as
    try_strptime(
        case when zoned then regexp_replace(written, '(:\d\d(\.\d+)?)\s*([zZ]|[+-]\d\d:?\d\d)\s*$', '\1')
            else written end,
        formats
    );

-- A finite number, or null.
create or replace temp macro as_finite(written) as
    nullif(nullif(nullif(try_cast(written as double), 'nan'::double), 'inf'::double), '-inf'::double);

-- A number, or null. sign 'point': the point is the decimal sign, and commas may part the thousands; 'comma': the other
-- way round; 'either': both stand for it, and nothing parts the thousands. Currency signs are passed over.
create or replace temp macro as_number(written, sign) as
    case sign
        when 'point' then coalesce(
            as_finite(written),
            case
                when written is null then null
                when regexp_full_match(written, '[\s€$£]*[-+]?\d{1,3}(,\d{3})+(\.\d+)?[\s€$£]*')
                    then as_finite(regexp_replace(written, '[,\s€$£]', '', 'g'))
                else as_finite(regexp_replace(written, '^[\s€$£]+|[\s€$£]+$', '', 'g'))
            end
        )
        when 'comma' then as_finite(replace(regexp_replace(written, '[.\s€$£]', '', 'g'), ',', '.'))
        when 'either' then as_finite(replace(regexp_replace(written, '[\s€$£]', '', 'g'), ',', '.'))
    end;

-- One reason for setting a row aside.
create or replace temp macro reason(code, column_at_fault, value_found) as
    {'reason': code, 'column_name': column_at_fault, 'found': left(value_found, 200)};

-- Is a date as it should be: nothing written, or a moment from `earliest` until `latest`?
create or replace temp macro moment_holds(written, moment, latest, earliest := timestamp '1990-01-01') as
    written is null or coalesce(moment >= earliest and moment < latest, false);

-- What is wrong with a date, or null. `latest`: the first moment that can not be, and `latest_reason` why it can
-- not; `earliest`: the first that can.
create or replace temp macro moment_reason(
    name, written, moment, latest, latest_reason, earliest := timestamp '1990-01-01'
) as
    case
        when written is null then null
        when moment is null or not isfinite(moment) then reason('not_a_date', name, written)
        when moment < earliest then reason('too_old', name, written)
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

-- An answer in figures with the unit of measure that its column is in; other answers stay as they are.
create or replace temp macro with_unit(written, unit) as
    case when unit is not null and regexp_full_match(written, '\s*[-+]?\d+([.,]\d+)?\s*')
        then trim(written) || ' ' || unit else as_words(written) end;

-- A unit of measure in the form in which spellings are compared.
create or replace temp macro unit_key(written) as
    lower(replace(replace(replace(written, ' ', ''), '.', ''), '_', ''));
