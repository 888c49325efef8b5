/* The order of checks, findings, the next question and what tells causes apart, from the pack of a page and the chances of
   the causes, {cause: chance}; as in analytics/causes. options: paid, made, implied, builtIn (longer set-ups), quick. */
(function () {
  "use strict";
  var root = typeof window === "undefined" ? globalThis : window;
  var EXACT = 8, WAIT = "";

  function order(pack, posterior, options) {
    var calls = root.serviceCalls, clock = calls.clock, problem = clock.problemOf(pack, posterior, options);
    if (!problem) { return null; }
    var quick = options && options.quick, sequence = null;
    if (!quick && problem.minutes.length <= EXACT) { sequence = calls.exactSequence(problem); }
    var exact = sequence !== null;
    if (!exact) { sequence = calls.goodSequence(problem, !quick); }
    var best = clock.bestWalk(problem, sequence);
    var bound = exact || quick ? best.minutes : Math.min(best.minutes, calls.lowerBound(problem));
    return {
      steps: steps(problem, best.walk), expected_minutes: best.minutes, exact: exact, bound: bound,
      gap: best.minutes > 0 ? 1 - bound / best.minutes : 0,
      sequence: sequence.map(function (check) { return check === clock.WAIT ? WAIT : problem.codes[check]; })
    };
  }

  function steps(problem, walk) {
    var left = problem.weights, atWork = 1, unfound = 1, before = 0, results = {};
    walk.results.forEach(function (each) {
      var shown = problem.reveals[each[0]], finds = 0;
      left.forEach(function (weight, i) { finds += atWork * weight * shown[i]; });
      left = left.map(function (weight, i) { return weight * (1 - shown[i]); });
      atWork *= 1 - problem.falsely[each[0]];
      unfound -= finds;
      results[each[0]] = { clock: each[1], finds: finds, unfound: Math.max(unfound, 0) };
    });
    return walk.begun.map(function (each) {
      var check = each[0], pays = each[1] >= 0, waits = each[2] - before;
      before = each[3];
      return {
        check: problem.codes[check], setup: pays ? problem.setupNames[each[1]] : "",
        setup_minutes: pays ? problem.setupMinutes[each[1]] : 0, minutes: problem.minutes[check], waits_first: waits,
        clock_minutes: results[check].clock, finds: results[check].finds, unfound: results[check].unfound
      };
    });
  }

  /* Expected minutes of a given sequence of codes, each counted once; "" waits for the next result. */
  function minutesOf(pack, posterior, sequence, options) {
    var clock = root.serviceCalls.clock;
    var problem = clock.problemOf(pack, posterior, Object.assign({}, options, { useless: true })), numbers = [];
    if (!problem) { return null; }
    sequence.forEach(function (code) {
      var number = code === WAIT ? clock.WAIT : problem.codes.indexOf(code);
      if (code === WAIT || (number >= 0 && numbers.indexOf(number) < 0)) { numbers.push(number); }
    });
    return clock.bestWalk(problem, numbers).minutes;
  }

  function find(list, code) { return list.filter(function (each) { return each.code === code; })[0]; }

  function findsUnder(check, cause) {
    var shown = check.reveals[cause] || 0;
    return shown + (1 - shown) * (check.false_finding || 0);
  }

  function shares(chances) {
    var all = root.serviceCalls.clock.sum(Object.keys(chances).map(function (cause) { return chances[cause]; })), result = {};
    Object.keys(chances).forEach(function (cause) { result[cause] = chances[cause] / all; });
    return all > root.serviceCalls.clock.LEAST ? result : null;
  }

  /* The chances after one more finding: "fault", "no_fault" or "inconclusive". */
  function afterFinding(pack, posterior, code, finding) {
    var check = find(pack.checks, code), before = shares(posterior), after = {};
    if (!check || !before || finding === "inconclusive") { return before; }
    Object.keys(before).forEach(function (cause) {
      var fault = findsUnder(check, cause);
      after[cause] = before[cause] * (finding === "fault" ? fault : 1 - fault);
    });
    return shares(after) || before;
  }

  /* The check whose chances of a finding under the two likeliest causes differ most per minute, or null. */
  function tellsApart(pack, posterior, options) {
    var clock = root.serviceCalls.clock, given = options || {}, made = given.made || [];
    var all = clock.problemOf(pack, posterior, Object.assign({}, given, { made: [], useless: true })), best = null;
    if (!all) { return null; }
    var two = all.causes.map(function (cause, i) { return [cause, all.weights[i]]; })
      .sort(function (a, b) { return b[1] - a[1]; }).slice(0, 2);
    if (two.length < 2 || two[1][1] <= clock.LEAST) { return null; }
    pack.checks.forEach(function (check, at) {
      var ways = clock.waysToSetUp(all, at, function () { return false; });
      var minutes = check.minutes + Math.min.apply(null, ways.map(function (way) { return way[1]; }));
      var one = findsUnder(check, two[0][0]), other = findsUnder(check, two[1][0]);
      var worth = Math.abs(one - other) / Math.max(minutes, clock.LEAST);
      if (made.indexOf(check.code) < 0 && worth > clock.LEAST && (!best || worth > best.worth)) {
        best = {
          likeliest: two[0][0], next: two[1][0], check: check.code, minutes: minutes,
          finds_likeliest: one, finds_next: other, worth: worth
        };
      }
    });
    return best;
  }

  /* Questions not answered yet, what saves most expected minutes first. */
  function nextQuestions(pack, posterior, answered, options) {
    var quick = Object.assign({}, options, { quick: true }), today = order(pack, posterior, quick);
    if (!today) { return []; }
    return pack.questions.filter(function (question) { return answered.indexOf(question.field) < 0; })
      .map(function (question) {
        return { field: question.field, saves_minutes: saved(pack, posterior, question, today.sequence, quick) };
      })
      .sort(function (a, b) { return Math.round((b.saves_minutes - a.saves_minutes) * 1e9); });
  }

  function saved(pack, posterior, question, today, options) {
    var all = 0, minutes = 0, clock = root.serviceCalls.clock, before = shares(posterior);
    question.levels.forEach(function (level) {
      var after = {}, chance = 0;
      Object.keys(before).forEach(function (cause) {
        after[cause] = before[cause] * ((question.chances[cause] || {})[level.code] || 0);
        chance += after[cause];
      });
      if (chance <= clock.LEAST) { return; }
      all += chance;
      minutes += chance * Math.max(0, minutesOf(pack, after, today, options) - order(pack, after, options).expected_minutes);
    });
    return minutes / Math.max(all, clock.LEAST);
  }

  root.serviceCalls = Object.assign(root.serviceCalls || {}, {
    order: order, minutesOf: minutesOf, afterFinding: afterFinding, tellsApart: tellsApart, nextQuestions: nextQuestions
  });
})();
