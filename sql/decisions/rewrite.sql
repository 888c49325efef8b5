-- Give one decision other texts, without what is forgotten.
update decisions set value = $value, note = $note, who = $who where number = $number;
