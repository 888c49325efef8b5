-- Add one event.
insert into audit (at, who, what, about) values ($at, $who, $what, $about);
