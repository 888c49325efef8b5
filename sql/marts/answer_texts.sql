-- answer_texts: what the texts of the answers about time come to: the view texts.amounts, worked out once a build. One row
-- per field and distinct text. Temporary.
create or replace temp table answer_texts as from texts.amounts;
