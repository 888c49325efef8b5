-- Decisions whose texts hold $id anywhere. One row a decision. Columns: number, value, note, who.
select number, value, note, who from decisions where instr(value || ' ' || note || ' ' || who, $id) > 0;
