-- Texts of one field that were recognised as one code, to learn from: not those that are codes. Grain: one row per text.
-- Columns: text, code. Binds $field, $limit.
select text, codes[1] as code
from texts.codings
where field = $field and len(codes) = 1 and how <> 'code' and not same_again
order by hash(text)
limit $limit;
