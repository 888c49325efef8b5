-- What $cause was taken for first: one row per other cause that can be final, the most frequent first. Columns: first_thought, strings.
select diagnoses.first_thought, count(*) as strings
from marts.diagnoses
inner join catalogue.causes on causes.code = diagnoses.first_thought
where diagnoses.final_cause = $cause and diagnoses.standing = 'different' and causes.can_be_final
group by diagnoses.first_thought
order by strings desc, diagnoses.first_thought;
