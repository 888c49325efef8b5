-- decisions: one row a decision, in the order they were made; nothing is changed or removed, the latest row counts.
create table if not exists decisions (
    number integer primary key autoincrement,
    made_at text not null,  -- ISO, UTC
    matter text not null,   -- reviewed, sorted, remark, lesson
    kind text not null,     -- what it is about: return, third_trip, open_call, no_proof, group, lesson
    key text not null,      -- number of the call; of a group its field, name and week; of a lesson its day and cause
    value text not null,    -- reviewed: yes; sorted: the code; remark: the words; lesson: JSON, who attended; '' takes back what was said before
    note text not null,
    who text not null       -- as typed, may be blank
);
