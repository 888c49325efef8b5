-- Fill record_lines from the frame record_begins (nth, line). Grain: one row per record.
insert into record_lines from record_begins;
