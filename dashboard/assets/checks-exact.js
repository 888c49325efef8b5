/* The best order of few checks, as in analytics/causes/order_exact.py: a search that remembers what each state costs. */
(function () {
  "use strict";
  var root = typeof window === "undefined" ? globalThis : window;
  var STOP = -1, MOST_STATES = 40000;

  /* For each set of checks made, as bits: what is unfound, what is over, and what the rest costs at least. */
  function tables(problem, clock) {
    var count = problem.minutes.length, kept = [problem.weights], over = [], least = [], unfound;
    for (var j = 0; j < count; j += 1) {
      kept = kept.concat(kept.map(function (left) {
        return left.map(function (weight, i) { return weight * (1 - problem.reveals[j][i]); });
      }));
    }
    unfound = kept.map(clock.sum);
    kept.forEach(function (left, made) {
      var possible = left.filter(function (weight, i) { return weight > 0 && problem.weights[i] > clock.LEAST; });
      over.push(problem.implied ? possible.length <= 1 : unfound[made] <= clock.LEAST);
      least.push(problem.implied ? 0 : bound(problem, clock, left, unfound[made], made));
    });
    return { unfound: unfound, over: over, least: least };
  }

  function bound(problem, clock, left, unfound, made) {
    var shown = [], paid = 0, least;
    for (var j = 0; j < problem.minutes.length; j += 1) {
      if (!(made >> j & 1)) {
        shown.push([clock.sum(left.map(function (weight, i) { return weight * problem.reveals[j][i]; })), problem.minutes[j]]);
      }
    }
    shown.sort(function (a, b) { return b[0] / Math.max(b[1], clock.LEAST) - a[0] / Math.max(a[1], clock.LEAST); });
    least = problem.visit * unfound;
    shown.forEach(function (each) {
      paid += each[1] * unfound;
      unfound -= each[0];
      least = Math.min(least, paid + problem.visit * unfound);
    });
    return Math.max(0, least);
  }

  /* The sequence that costs least; null when there are too many states. */
  function exact(problem) {
    var clock = root.serviceCalls.clock, table = tables(problem, clock), known = new Map();
    var count = problem.minutes.length, byWorth = [];
    problem.reveals.forEach(function (shown, j) {
      var found = clock.sum(shown.map(function (chance, i) { return chance * problem.weights[i]; }));
      byWorth.push([j, found / Math.max(problem.minutes[j], clock.LEAST)]);
    });
    byWorth.sort(function (a, b) { return b[1] - a[1]; });

    function better(found, move, unfound, cost, made, paid, pending) {
      var value = cost * unfound, weight = 1, toCome = [];
      pending.forEach(function (each) {
        if (each[0] > cost + clock.CLOSE) {
          toCome.push([Math.round((each[0] - cost) * 1e9) / 1e9, each[1]]);
          return;
        }
        var over = table.over[made];
        made |= 1 << each[1];
        if (!over) { value += weight * problem.falsely[each[1]] * problem.visit * table.unfound[made]; }
        weight *= 1 - problem.falsely[each[1]];
      });
      value += weight * best(made, paid, toCome).value;
      if (value < found.value - clock.CLOSE || (value <= found.value + clock.CLOSE && move < found.move)) {
        return { value: value, move: move, after: [made, paid, toCome] };
      }
      return found;
    }

    function best(made, paid, pending) {
      var key = made + "|" + paid + "|" + pending.join(";"), seen = known.get(key);
      if (seen) { return seen; }
      var unfound = table.unfound[made], busy = made;
      /* what has been begun is waited for */
      var found = { value: table.over[made] ? 0 : pending.length ? Infinity : problem.visit * unfound, move: STOP, after: null };
      if (!table.over[made]) {
        pending.forEach(function (each) { busy |= 1 << each[1]; });
        byWorth.forEach(function (each) {
          var check = each[0];
          if (busy >> check & 1) { return; }
          clock.waysToSetUp(problem, check, function (setup) { return paid >> setup & 1; }).forEach(function (way) {
            var cost = way[1] + problem.minutes[check];
            if (cost * unfound + table.least[busy | 1 << check] <= found.value + clock.CLOSE) {
              found = better(found, check, unfound, cost, made, way[0] < 0 ? paid : paid | 1 << way[0],
                pending.concat([[problem.beside[check] + cost, check]]));
            }
          });
        });
        if (pending.length) {
          var next = Math.min.apply(null, pending.map(function (each) { return each[0]; }));
          found = better(found, count, unfound, next, made, paid, pending);
        }
      }
      if (known.size >= MOST_STATES) { throw tooMany; }
      known.set(key, found);
      return found;
    }

    var tooMany = {}, moves = [], state = [0, 0, []];
    try {
      while (state) {
        var step = best(state[0], state[1], state[2]);
        if (step.after) { moves.push(step.move < count ? step.move : clock.WAIT); }
        state = step.after;
      }
    } catch (error) {
      if (error !== tooMany) { throw error; }
      return null;
    }
    return moves;
  }

  root.serviceCalls = Object.assign(root.serviceCalls || {}, { exactSequence: exact });
})();
