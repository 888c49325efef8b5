/* From answers and findings to causes, checks, the next question and the parts to bring. Pure: no page, no network. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};
  var SHARE_COVERED = 0.8;

  function normalised(shares) {
    var sum = Object.keys(shares).reduce(function (a, cause) { return a + shares[cause]; }, 0), all = {};
    Object.keys(shares).forEach(function (cause) { all[cause] = sum > 0 ? shares[cause] / sum : 0; });
    return all;
  }

  function reveal(check, cause) { return (check.reveals || {})[cause] || 0; }

  function faultChance(check, cause) { return 1 - (1 - reveal(check, cause)) * (1 - (check.false_finding || 0)); }

  function afterFindings(pack, shares, found) {
    var now = Object.assign({}, shares);
    pack.checks.forEach(function (check) {
      if (found[check.code] !== "fault" && found[check.code] !== "no_fault") { return; }
      Object.keys(now).forEach(function (cause) {
        var chance = faultChance(check, cause);
        now[cause] *= found[check.code] === "fault" ? chance : 1 - chance;
      });
    });
    return normalised(now);
  }

  function setupOf(check, done, minutesOf) {
    if (!check.setups.length || check.setups.some(function (each) { return done[each]; })) { return { code: "", minutes: 0 }; }
    return check.setups.map(function (code) { return { code: code, minutes: minutesOf(code) }; })
      .sort(function (a, b) { return a.minutes - b.minutes; })[0];
  }

  function plan(pack, shares, found, minutesOf) {
    var left = pack.checks.filter(function (check) { return !found[check.code] && Object.keys(check.reveals || {}).length; });
    var mass = Object.assign({}, shares), done = {}, steps = [], expected = 0, unfound = 1;
    while (left.length) {
      var best = null;
      left.forEach(function (check) {
        var setup = setupOf(check, done, minutesOf);
        var gain = Object.keys(mass).reduce(function (sum, cause) { return sum + mass[cause] * reveal(check, cause); }, 0);
        var ratio = gain / Math.max(0.1, check.minutes + setup.minutes);
        if (!best || ratio > best.ratio) { best = { check: check, setup: setup, ratio: ratio }; }
      });
      if (best.setup.code) { done[best.setup.code] = true; }
      var at = best.check.setups.filter(function (each) { return done[each]; })[0] || "";
      expected += unfound * (best.check.minutes + best.setup.minutes);
      Object.keys(mass).forEach(function (cause) { mass[cause] *= 1 - reveal(best.check, cause); });
      unfound = Object.keys(mass).reduce(function (sum, cause) { return sum + mass[cause]; }, 0);
      steps.push({ check: best.check, setup: at, gain: best.ratio });
      left = left.filter(function (check) { return check !== best.check; });
    }
    return { steps: steps, minutes: expected + unfound * pack.second_visit_minutes };
  }

  function nextQuestion(pack, shares, found, minutesOf, given, skipped) {
    var now = plan(pack, shares, found, minutesOf).minutes, best = null;
    pack.questions.forEach(function (question) {
      if ((given[question.field] !== undefined && given[question.field] !== "") || (skipped || {})[question.field]) { return; }
      var expected = 0, sum = 0;
      question.levels.forEach(function (level) {
        var after = {}, mass = 0;
        Object.keys(shares).forEach(function (cause) {
          after[cause] = shares[cause] * (((question.chances || {})[cause] || {})[level.code] || 0);
          mass += after[cause];
        });
        if (mass > 0) { expected += mass * plan(pack, normalised(after), found, minutesOf).minutes; sum += mass; }
      });
      var saves = sum > 0 ? now - expected / sum : 0;
      if (!best || saves > best.saves) { best = { field: question.field, label: question.label, saves: saves }; }
    });
    return best;
  }

  function apart(pack, ranked, found) {
    var one = ranked[0], two = ranked[1], best = null;
    if (!two) { return ""; }
    pack.checks.forEach(function (check) {
      if (found[check.code]) { return; }
      var split = Math.abs(reveal(check, one.code) - reveal(check, two.code));
      if (split >= 0.3 && (!best || split > best.split)) { best = { check: check, split: split }; }
    });
    if (!best) { return "No single check left tells " + one.label + " from " + two.label + "."; }
    var first = reveal(best.check, one.code) > reveal(best.check, two.code) ? one : two;
    return serviceCalls.words.capital(best.check.label) + ": it finds " + first.label + " in " +
      Math.round(10 * reveal(best.check, first.code)) + " of 10, " + (first === one ? two : one).label + " in " +
      Math.round(10 * reveal(best.check, (first === one ? two : one).code)) + " of 10.";
  }

  function partsToBring(pack, shares) {
    var left = Object.assign({}, shares), chosen = [], covered = 0;
    var mendable = Object.keys(pack.parts);
    while (covered < SHARE_COVERED) {
      var best = null;
      mendable.forEach(function (code) {
        var gain = pack.parts[code].answers.reduce(function (sum, cause) { return sum + (left[cause] || 0); }, 0);
        if (!best || gain > best.gain) { best = { code: code, gain: gain }; }
      });
      if (!best || best.gain < 0.02) { break; }
      pack.parts[best.code].answers.forEach(function (cause) { left[cause] = 0; });
      covered += best.gain;
      chosen.push({ code: best.code, share: best.gain });
    }
    return { parts: chosen, covered: covered };
  }

  /* Finished calls with most answers in common, latest first among equals: [{call, common, given}]. */
  function similar(pack, given) {
    var fields = Object.keys(given).filter(function (field) { return given[field] !== "" && field.indexOf("symptom:") !== 0; });
    return (pack.similar || []).map(function (call) {
      return { call: call, given: fields.length,
               common: fields.filter(function (field) { return (call.answers || {})[field] === given[field]; }).length };
    }).filter(function (each) { return each.common > 0; }).sort(function (a, b) {
      return b.common - a.common || (a.call.closed_on < b.call.closed_on ? 1 : -1);
    }).slice(0, 5);
  }

  /* All of it at once.
     given   answers as from state.answers;  found   findings by check;  skipped   questions passed over. */
  function advise(pack, given, found, skipped) {
    var builtIn = given.where_it_stands === "built_in";
    function minutesOf(code) { var each = pack.setups[code] || {}; return (builtIn ? each.built_in_minutes : each.minutes) || 0; }
    var shares = afterFindings(pack, serviceCalls.likelihood(pack, given), found);
    var ranked = Object.keys(shares).map(function (code) {
      return { code: code, share: shares[code], label: (pack.causes[code] || {}).label || code.replace(/_/g, " ") };
    }).sort(function (a, b) { return b.share - a.share; });
    var way = plan(pack, shares, found, minutesOf);
    return { ranked: ranked, shares: shares, steps: way.steps, minutes: way.minutes, setupMinutes: minutesOf,
             question: nextQuestion(pack, shares, found, minutesOf, given, skipped), apart: apart(pack, ranked, found),
             bring: partsToBring(pack, shares), similar: similar(pack, given) };
  }

  serviceCalls.advise = advise;
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
