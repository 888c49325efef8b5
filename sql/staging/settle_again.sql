-- Give texts of one field the meaning that stands in settled (a frame: text, codes). One row per text. Binds $field.
update texts.codings as coding
set
    codes = settled.codes, how = 'settled', score = null, same_again = false, number = null, number_unit = null,
    "day" = null, implied_field = null, implied_code = null
from settled
where coding.field = $field and coding.text = settled.text;
