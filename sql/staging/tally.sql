-- What became of the rows of the staged file. Grain: one row per verdict; "new" for rows that had none.
select coalesce(verdict, 'new') as verdict, count(*) as "rows"
from staged
left join verdicts on verdicts.nth = staged.rowid + 1
where reasons is null
group by all;
