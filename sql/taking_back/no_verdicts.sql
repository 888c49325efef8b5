-- No verdicts: every row of a file that is taken back was brought by it. Grain: none. Columns as in staging/verdicts.
create or replace temp table verdicts (nth bigint, line bigint, verdict varchar, stored_row bigint, confirms boolean);
