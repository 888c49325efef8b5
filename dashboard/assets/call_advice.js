/* From answers and findings to causes, checks, the next question and the parts to bring, for one state of a call: what the
   modules of the order of checks say, as the page shows it. Pure: no page, no network. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};
  var SHARE_COVERED = 0.8, SIMILAR_SHOWN = 5;

  function afterFindings(pack, shares, found) {
    return Object.keys(found).reduce(function (now, code) {
      return serviceCalls.afterFinding(pack, now, code, found[code]) || now;
    }, shares);
  }

  function rank(pack, shares) {
    return Object.keys(shares).map(function (code) {
      return { code: code, share: shares[code], label: (pack.causes[code] || {}).label || code.replace(/_/g, " ") };
    }).sort(function (a, b) { return b.share - a.share; });
  }

  /* Minutes of a set-up; longer where the unit is built in. */
  function setupMinutes(pack, builtIn) {
    return function (code) {
      var setup = pack.setups[code] || {}, longer = builtIn && setup.built_in_minutes;
      return (typeof longer === "number" ? longer : setup.minutes) || 0;
    };
  }

  /* The set-ups that the checks made so far have already cost. Of several that will do the cheapest is taken to be. */
  function paid(pack, found, minutesOf) {
    var all = [];
    pack.checks.forEach(function (check) {
      if (!found[check.code] || !check.setups.length || check.setups.some(function (code) { return all.indexOf(code) >= 0; })) { return; }
      all.push(check.setups.slice().sort(function (a, b) { return minutesOf(a) - minutesOf(b); })[0]);
    });
    return all;
  }

  /* Each step with its check and the set-up under which it stands: the one paid for it, else one paid before. */
  function withSetups(pack, steps, before, minutesOf) {
    var done = before.slice();
    return steps.map(function (step) {
      var check = pack.checks.filter(function (each) { return each.code === step.check; })[0];
      if (step.setup) { done.push(step.setup); }
      var stands = step.setup || check.setups.filter(function (code) { return done.indexOf(code) >= 0; })[0] || "";
      var free = check.setups.some(function (code) { return minutesOf(code) === 0; });
      return { check: check, setup: free ? "" : stands, waits: step.waits_first || 0, finds: step.finds };
    });
  }

  function outOfTen(share) {
    var tenths = Math.round(10 * share);
    return tenths <= 0 ? "hardly ever" : tenths >= 10 ? "nearly always" : tenths === 1 ? "once in 10" : tenths + " times in 10";
  }

  /* What tells the two likeliest apart, in one line. */
  function apart(pack, ranked, told) {
    if (!told) { return "No check that is left tells them apart."; }
    var check = pack.checks.filter(function (each) { return each.code === told.check; })[0];
    function label(code) { return (pack.causes[code] || {}).label || code.replace(/_/g, " "); }
    return serviceCalls.words.capital(check.label) + " (" + serviceCalls.words.minutes(told.minutes) + ") shows a fault " +
      outOfTen(told.finds_likeliest) + " when it is " + label(told.likeliest) + ", " + outOfTen(told.finds_next) +
      " when it is " + label(told.next) + ".";
  }

  /* Finished calls with most answers in common, latest first among equals: [{call, common, given}]. */
  function similar(pack, given) {
    var fields = pack.questions.map(function (each) { return each.field; }).concat("complaint").filter(function (field) { return given[field]; });
    return (pack.similar || []).map(function (call) {
      var own = call.answers || {};
      return { call: call, given: fields.length, common: fields.filter(function (field) { return own[field] === given[field]; }).length };
    }).filter(function (each) { return each.common > 0; }).sort(function (a, b) {
      return b.common - a.common || (a.call.closed_on < b.call.closed_on ? 1 : -1);
    }).slice(0, SIMILAR_SHOWN);
  }

  function nextQuestion(pack, shares, given, skipped, options) {
    var past = Object.keys(given).filter(function (field) { return given[field] !== ""; }).concat(Object.keys(skipped || {}));
    var best = serviceCalls.nextQuestions(pack, shares, past, options)[0];
    var question = best && serviceCalls.words.findQuestion(pack, best.field);
    return question ? { field: best.field, label: question.label, saves: best.saves_minutes } : null;
  }

  /* All of it at once.
     given   answers as from state.answers;  found   findings by check;  skipped   questions passed over. */
  function advise(pack, given, found, skipped) {
    var minutesOf = setupMinutes(pack, given.where_it_stands === "built_in");
    var shares = afterFindings(pack, serviceCalls.likelihood(pack, given), found), ranked = rank(pack, shares);
    var before = paid(pack, found, minutesOf);
    /* A finding is in the shares already, so that the checks made are taken out instead of being counted once more. */
    var left = Object.assign({}, pack, { checks: pack.checks.filter(function (check) { return !found[check.code]; }) });
    var options = { paid: before, builtIn: given.where_it_stands === "built_in" };
    var way = serviceCalls.order(left, shares, options), bring = serviceCalls.partsToBring(pack, shares, SHARE_COVERED);
    return { ranked: ranked, shares: shares, setupMinutes: minutesOf, paid: before, minutes: way.expected_minutes,
             steps: withSetups(pack, way.steps, before, minutesOf), exact: way.exact, least: way.bound,
             others: left.checks.filter(function (check) { return !way.steps.some(function (step) { return step.check === check.code; }); }),
             question: nextQuestion(left, shares, given, skipped, options),
             apart: apart(pack, ranked, serviceCalls.tellsApart(left, shares, options)),
             bring: bring, similar: similar(pack, given) };
  }

  serviceCalls.advise = advise;
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
