-- What names become while a coded copy is written: one row of coded_names a technician, and two ways to use it.
-- Binds $technicians and $codes (lists side by side), $mention (a pattern for any of the names within a text),
-- $pieces (the same or, where no name begins, a word or a single sign), $spoken and $spoken_codes (lists side by side:
-- names as they are compared within texts). No rows.
create or replace temp table coded_names as
select unnest($technicians::varchar[]) as technician, unnest($codes::varchar[]) as code;

set variable mention = $mention::varchar;
set variable pieces = $pieces::varchar;
set variable spoken = map($spoken::varchar[], $spoken_codes::varchar[]);

create or replace temp macro coded_text(written) as
case
    when regexp_matches(written, getvariable('mention'))
        then array_to_string(
            list_transform(
                regexp_extract_all(written, getvariable('pieces')),
                lambda piece: if(
                    regexp_full_match(piece, getvariable('mention')),
                    getvariable('spoken')[regexp_replace(lower(piece), '\s+', ' ', 'g')],
                    piece
                )
            ),
            ''
        )
    else written
end;
