-- Take what is forgotten out of the events that name it. Binds $ids (a JSON list).
update audit set
    who = case when exists (select 1 from json_each($ids) where value = who) then '(forgotten)' else who end,
    about = case
        when exists (
            select 1
            from json_each($ids)
            where instr(' ' || replace(replace(about, ',', ' '), ':', ' ') || ' ', ' ' || value || ' ') > 0
        ) then '(forgotten)'
        else about
    end;
