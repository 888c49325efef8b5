/* The clock of one sequence of checks, as in analytics/causes/order_walk.py: when each result is taken in, and the
   expected minutes. A sequence is a list of numbers; -1 stands for waiting until the next result is there. */
(function () {
  "use strict";
  var root = typeof window === "undefined" ? globalThis : window;
  var LEAST = 1e-12, CLOSE = 1e-9, WAIT = -1, NONE = -1;

  function sum(values) { return values.reduce(function (all, one) { return all + one; }, 0); }

  function causesOf(pack, posterior) {
    var known = Object.keys(pack.causes);
    return known.concat(Object.keys(posterior).filter(function (cause) { return known.indexOf(cause) < 0; }));
  }

  function unfound(reveals, weights) {
    return weights.map(function (weight, i) {
      return reveals.reduce(function (left, shown) { return left * (1 - shown[i]); }, weight);
    });
  }

  function normal(weights) {
    var all = sum(weights);
    return all > LEAST ? weights.map(function (weight) { return weight / all; }) : null;
  }

  /* A problem: checks that can still find something, with the set-ups left to pay.
     options: paid (set-ups), made (checks without a finding), implied, builtIn, useless (keep checks that find nothing). */
  function problemOf(pack, posterior, options) {
    var given = options || {}, paid = given.paid || [], made = given.made || [];
    var causes = causesOf(pack, posterior), names = [], minutes = [], left;
    function revealsOf(check) { return causes.map(function (cause) { return check.reveals[cause] || 0; }); }
    function free(name) { return paid.indexOf(name) >= 0 || minutesOf(name) === 0; }
    function minutesOf(name) {
      var setup = pack.setups[name], builtIn = given.builtIn && setup.built_in_minutes;
      return typeof builtIn === "number" ? builtIn : setup.minutes;
    }
    var weights = normal(causes.map(function (cause) { return posterior[cause] || 0; }));
    if (!weights) { return null; }
    var before = pack.checks.filter(function (check) { return made.indexOf(check.code) >= 0; });
    weights = normal(unfound(before.map(revealsOf), weights)) || weights;
    Object.keys(pack.setups).forEach(function (name) {
      if (!free(name)) { names.push(name); minutes.push(minutesOf(name)); }
    });
    left = pack.checks.filter(function (check) {
      var found = sum(revealsOf(check).map(function (shown, i) { return shown * weights[i]; }));
      return made.indexOf(check.code) < 0 && (given.useless || found > LEAST);
    });
    return {
      codes: left.map(function (check) { return check.code; }),
      causes: causes,
      minutes: left.map(function (check) { return check.minutes; }),
      beside: left.map(function (check) { return check.beside_minutes || 0; }),
      falsely: left.map(function (check) { return check.false_finding || 0; }),
      reveals: left.map(revealsOf),
      setups: left.map(function (check) {
        var needed = check.setups || [];
        return needed.some(free) ? [] : needed.map(function (name) { return names.indexOf(name); });
      }),
      setupNames: names, setupMinutes: minutes, weights: weights,
      visit: pack.second_visit_minutes, implied: !!given.implied
    };
  }

  function takenIn(walk) {
    var there = walk.pending.filter(function (each) { return each[1] <= walk.clock + CLOSE; });
    walk.results = walk.results.concat(there.map(function (each) { return [each[0], walk.clock]; }));
    walk.pending = walk.pending.filter(function (each) { return each[1] > walk.clock + CLOSE; });
    return walk;
  }

  function waited(walk) {
    if (!walk.pending.length) { return walk; }
    var next = Math.min.apply(null, walk.pending.map(function (each) { return each[1]; }));
    return takenIn(Object.assign({}, walk, { clock: Math.max(walk.clock, next) }));
  }

  function waysToSetUp(problem, check, isPaid) {
    var needed = problem.setups[check];
    if (!needed.length || needed.some(isPaid)) { return [[NONE, 0]]; }
    return needed.map(function (setup) { return [setup, problem.setupMinutes[setup]]; });
  }

  /* Every walk through a sequence, one for each choice among set-ups that will do. */
  function walks(problem, sequence) {
    var all = [];
    function on(walk, at) {
      if (at === sequence.length) {
        while (walk.pending.length) { walk = waited(walk); }
        all.push(walk);
      } else if (sequence[at] === WAIT) {
        on(waited(walk), at + 1);
      } else {
        var check = sequence[at];
        waysToSetUp(problem, check, function (setup) {
          return walk.begun.some(function (each) { return each[1] === setup; });
        }).forEach(function (way) {
          var ends = walk.clock + way[1] + problem.minutes[check];
          on(takenIn({
            begun: walk.begun.concat([[check, way[0], walk.clock, ends]]), results: walk.results,
            pending: walk.pending.concat([[check, ends + problem.beside[check]]]), clock: ends
          }), at + 1);
        });
      }
    }
    on({ begun: [], results: [], pending: [], clock: 0 }, 0);
    return all;
  }

  function expected(problem, walk) {
    var minutes = 0, atWork = 1, left = problem.weights.slice(), all = sum(left), i, j;
    function lastCause() {
      return problem.implied && left.filter(function (weight) { return weight > 0; }).length <= 1;
    }
    left = left.map(function (weight) { return weight > LEAST ? weight : problem.implied ? 0 : weight; });
    if (lastCause()) { return 0; }
    for (j = 0; j < walk.results.length; j += 1) {
      var check = walk.results[j][0], clock = walk.results[j][1], falsely = problem.falsely[check];
      for (i = 0; i < left.length; i += 1) { left[i] *= 1 - problem.reveals[check][i]; }
      var after = sum(left);
      minutes += atWork * ((all - after) * clock + after * falsely * (clock + problem.visit));
      atWork *= 1 - falsely;
      all = after;
      if (lastCause()) { return minutes + atWork * all * clock; }
    }
    return minutes + atWork * all * (walk.clock + problem.visit);
  }

  /* The walk with the set-ups that cost least, the first of those, and its expected minutes. */
  function bestWalk(problem, sequence) {
    var each = walks(problem, sequence);
    var values = each.map(function (walk) { return expected(problem, walk); });
    var least = Math.min.apply(null, values), at = 0;
    while (values[at] > least + CLOSE) { at += 1; }
    return { walk: each[at], minutes: values[at] };
  }

  root.serviceCalls = Object.assign(root.serviceCalls || {}, {
    clock: {
      LEAST: LEAST, CLOSE: CLOSE, WAIT: WAIT, NONE: NONE, sum: sum, problemOf: problemOf,
      waysToSetUp: waysToSetUp, bestWalk: bestWalk
    }
  });
})();
