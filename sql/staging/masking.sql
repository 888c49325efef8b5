-- Macros that take names, telephone numbers, addresses and e-mail out of a text before it is kept; the patterns are
-- those of analytics/intake/masking.py, in their order. No grain: nothing is stored.
-- Binds $rules (list of pattern and put; 1 to 16: numbers, addresses and e-mail; 17 to 23: names), $hint.
set variable masking_rules = $rules;
set variable masking_hint = $hint;

create or replace temp macro mask_step(written, n) as regexp_replace(
    written, getvariable('masking_rules')[n].pattern, getvariable('masking_rules')[n].put, 'g'
);

-- Numbers, addresses and e-mail.
create or replace temp macro mask_contacts(written) as
    mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(
    mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(
        written, 1), 2), 3), 4), 5), 6), 7), 8), 9), 10), 11), 12), 13), 14), 15), 16);

-- Names, after those.
create or replace temp macro mask_names(written) as
    mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(mask_step(
        written, 17), 18), 19), 20), 21), 22), 23);

-- A free text.
create or replace temp macro masked(written) as
    case
        when regexp_matches(written, getvariable('masking_hint')) then mask_names(mask_contacts(written))
        else written
    end;

-- The words of a coded column: what they mean must stay, so that names are left to the texts; the mark is taken out.
create or replace temp macro masked_words(written) as
    case
        when regexp_matches(written, '@|\d\d\d|^\d|\d [A-Za-z]') then mask_step(mask_contacts(written), 23)
        else written
    end;
