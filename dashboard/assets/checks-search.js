/* A good order of many checks, as in analytics/causes/order_search.py: the ratio rule, then small changes. */
(function () {
  "use strict";
  var root = typeof window === "undefined" ? globalThis : window;
  var WINDOW = 5, FIRST = 11, ROUNDS = 2, orders = {};

  /* All checks by chance of finding per minute, and the set-up that each uses. */
  function ratioRule(problem, shared) {
    var clock = root.serviceCalls.clock, left = problem.weights, open = problem.minutes.map(function () { return true; });
    var uses = problem.setups.map(function (needed) {
      return needed.reduce(function (best, setup) {
        return best === clock.NONE || problem.setupMinutes[setup] < problem.setupMinutes[best] ? setup : best;
      }, clock.NONE);
    });
    var toPay = uses.slice(), sequence = [];
    problem.minutes.forEach(function () {
      var together = {}, chosen = -1, most = -1;
      var gain = problem.reveals.map(function (shown, j) {
        var found = 0;
        if (open[j]) { for (var i = 0; i < left.length; i += 1) { found += shown[i] * left[i]; } }
        together[toPay[j]] = (together[toPay[j]] || 0) + found;
        return found;
      });
      gain.forEach(function (found, j) {
        var more = toPay[j] === clock.NONE ? 0 : problem.setupMinutes[toPay[j]];
        if (shared) { more *= found / Math.max(together[toPay[j]], clock.LEAST); }
        var ratio = found / Math.max(problem.minutes[j] + problem.falsely[j] * problem.visit + more, clock.LEAST);
        if (open[j] && ratio > most) { most = ratio; chosen = j; }
      });
      var paid = toPay[chosen];
      open[chosen] = false;
      sequence.push(chosen);
      if (paid !== clock.NONE) {
        problem.setups.forEach(function (needed, j) {
          if (toPay[j] !== clock.NONE && needed.indexOf(paid) >= 0) { uses[j] = paid; toPay[j] = clock.NONE; }
        });
      }
      left = left.map(function (weight, i) { return weight * (1 - problem.reveals[chosen][i]); });
    });
    return { sequence: sequence, uses: uses };
  }

  /* Expected minutes of a sequence without waits in it, each check with its one set-up. */
  function minutesOf(problem, uses, sequence) {
    var clock = root.serviceCalls.clock, now = 0, paid = {}, waits = false, ends, results, i, j;
    ends = sequence.map(function (check) {
      var setup = uses[check];
      if (setup !== clock.NONE && !paid[setup]) { now += problem.setupMinutes[setup]; paid[setup] = true; }
      now += problem.minutes[check];
      waits = waits || problem.beside[check] > 0;
      return now;
    });
    results = sequence.map(function (check, at) {
      var there = ends[at] + problem.beside[check], next = at;
      if (problem.beside[check] > 0) {
        next = at + 1;
        while (next < ends.length && ends[next] < there - clock.CLOSE) { next += 1; }
      }
      return [check, next < ends.length ? ends[next] : there];
    });
    if (waits) { results.sort(function (a, b) { return a[1] - b[1]; }); }
    var left = problem.weights.slice(), all = clock.sum(left), atWork = 1, minutes = 0, taken = 0;
    for (j = 0; j < results.length; j += 1) {
      var shown = problem.reveals[results[j][0]], falsely = problem.falsely[results[j][0]], after = 0, possible = 0;
      taken = results[j][1];
      for (i = 0; i < left.length; i += 1) {
        left[i] *= 1 - shown[i];
        after += left[i];
        if (left[i] > 0 && problem.weights[i] > clock.LEAST) { possible += 1; }
      }
      minutes += atWork * ((all - after) * taken + after * falsely * (taken + problem.visit));
      atWork *= 1 - falsely;
      all = after;
      if (problem.implied && possible <= 1) { return minutes + atWork * all * taken; }
    }
    return minutes + atWork * all * (taken + problem.visit);
  }

  function least(problem, uses, sequences) {
    var close = root.serviceCalls.clock.CLOSE, at = 0;
    var values = sequences.map(function (sequence) { return minutesOf(problem, uses, sequence); });
    var lowest = Math.min.apply(null, values);
    while (values[at] > lowest + close) { at += 1; }
    return { sequence: sequences[at], minutes: values[at] };
  }

  function beginnings(sequence) {
    return sequence.concat(null).map(function (_, size) { return sequence.slice(0, size); });
  }

  /* Every order of so many, that of the numbers first. */
  function everyOrder(size) {
    if (!orders[size]) {
      orders[size] = size < 1 ? [[]] : [];
      for (var first = 0; first < size; first += 1) {
        everyOrder(size - 1).forEach(function (rest) {
          orders[size].push([first].concat(rest.map(function (each) { return each < first ? each : each + 1; })));
        });
      }
    }
    return orders[size];
  }

  function windows(sequence, at) {
    var some = sequence.slice(at, at + WINDOW), rest = sequence.slice(at + WINDOW);
    return everyOrder(some.length).map(function (order) {
      return sequence.slice(0, at).concat(order.map(function (each) { return some[each]; }), rest);
    });
  }

  function moves(sequence, count) {
    var changed = beginnings(sequence), checks = sequence.slice(), check;
    for (check = 0; check < count; check += 1) { if (sequence.indexOf(check) < 0) { checks.push(check); } }
    checks.forEach(function (moved) {
      var rest = sequence.filter(function (each) { return each !== moved; });
      changed.push(rest);
      for (var at = 0; at < Math.min(FIRST, rest.length + 1); at += 1) {
        changed.push(rest.slice(0, at).concat(moved, rest.slice(at)));
      }
    });
    return changed;
  }

  function good(problem, improve) {
    var clock = root.serviceCalls.clock, count = problem.minutes.length;
    var possible = problem.weights.filter(function (weight) { return weight > clock.LEAST; });
    if (!count || (problem.implied && possible.length <= 1)) { return []; }
    var rule = ratioRule(problem, false), uses = rule.uses, best = least(problem, uses, beginnings(rule.sequence));
    var other = ratioRule(problem, true), start = least(problem, other.uses, beginnings(other.sequence));
    if (start.minutes < best.minutes - clock.CLOSE) { best = start; uses = other.uses; }
    if (!improve) { return best.sequence; }
    for (var at = 0; at < Math.max(1, Math.min(FIRST, count) - WINDOW + 1); at += 2) {
      best = least(problem, uses, windows(best.sequence, at));
    }
    for (var round = 0; round < ROUNDS; round += 1) {
      var moved = least(problem, uses, moves(best.sequence, count));
      if (moved.minutes >= best.minutes - clock.CLOSE) { break; }
      best = least(problem, uses, windows(moved.sequence, 0));
    }
    return withWait(problem, best.sequence);
  }

  function withWait(problem, sequence) {
    var clock = root.serviceCalls.clock, best = sequence, value = clock.bestWalk(problem, sequence).minutes, begun = false;
    sequence.forEach(function (check, at) {
      var waits = sequence.slice(0, at).concat(clock.WAIT, sequence.slice(at));
      var lower = begun ? clock.bestWalk(problem, waits).minutes : Infinity;
      if (lower < value - clock.CLOSE) { best = waits; value = lower; }
      begun = begun || problem.beside[check] > 0;
    });
    return best;
  }

  root.serviceCalls = Object.assign(root.serviceCalls || {}, { goodSequence: good });
})();
