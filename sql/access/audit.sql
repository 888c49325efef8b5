-- Events before number $before, latest first, $most at most. Columns: number, at, who, what, about.
select number, at, who, what, about from audit where number < $before order by number desc limit $most;
