-- Take what is forgotten out of texts and of the rows set aside, whose fields go where one of them names it.
-- Binds $ids (numbers of what is forgotten), $mention (a pattern for them, between two signs that are put back). No rows.
update records.calls set notes = regexp_replace(notes, $mention, '\1(forgotten)\2', 'g')
where regexp_matches(notes, $mention);
update replaced.calls set notes = regexp_replace(notes, $mention, '\1(forgotten)\2', 'g')
where regexp_matches(notes, $mention);
update texts.codings set text = regexp_replace(text, $mention, '\1(forgotten)\2', 'g')
where regexp_matches(text, $mention);
update loads.set_aside set fields = [], found = null
where list_has_any(fields, $ids) or list_contains($ids, found)
    or regexp_matches(array_to_string(fields, ' '), $mention);
