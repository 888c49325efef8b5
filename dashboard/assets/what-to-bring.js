/* Which parts to have on the van, as in analytics/causes/van_parts.py, from the pack of a page and chances of causes. */
(function () {
  "use strict";
  var root = typeof window === "undefined" ? globalThis : window;
  var STAND_IN_COST = 50, CLOSE = 1e-9;

  function costOf(part) { return typeof part.cost === "number" ? part.cost : STAND_IN_COST; }

  function answeredBy(pack, cause) {
    return Object.keys(pack.parts).filter(function (code) { return pack.parts[code].answers.indexOf(cause) >= 0; });
  }

  /* A cause needs a part when one answers it, or when the catalogue says that it lies with a part. */
  function needsPart(pack, cause) {
    return answeredBy(pack, cause).length > 0 || ((pack.causes[cause] || {}).whose || []).indexOf("part") >= 0;
  }

  /* The cheapest set of parts that covers a share of the probability; depth first, given up where it can not be better. */
  function partsToBring(pack, posterior, share) {
    var causes = Object.keys(posterior).filter(function (cause) { return posterior[cause] > 0; });
    var all = causes.reduce(function (total, cause) { return total + posterior[cause]; }, 0);
    var free = 0, coverable = 0, lacking = [], answers = {};
    if (!(all > 0)) { return null; }
    causes.forEach(function (cause) {
      var chance = posterior[cause] / all;
      if (!needsPart(pack, cause)) { free += chance; return; }
      answers[cause] = answeredBy(pack, cause);
      if (answers[cause].length) { coverable += chance; } else { lacking.push(cause); }
    });
    var useful = Object.keys(pack.parts).map(function (code) {
      var some = causes.filter(function (cause) { return (answers[cause] || []).indexOf(code) >= 0; });
      var most = some.reduce(function (total, cause) { return total + posterior[cause] / all; }, 0);
      return { code: code, cost: costOf(pack.parts[code]), answers: some, most: most };
    }).filter(function (part) { return part.most > 0; });
    useful.sort(function (a, b) { return b.most / Math.max(b.cost, CLOSE) - a.most / Math.max(a.cost, CLOSE); });
    var wanted = Math.min(share - free, coverable), best = { cost: Infinity, parts: [] };

    /* what more costs at least: the fractional knapsack of what is left, which stands in order of worth */
    function atLeast(from, lacks) {
      var cost = 0;
      for (var at = from; at < useful.length && lacks > CLOSE; at += 1) {
        cost += useful[at].cost * Math.min(1, lacks / useful[at].most);
        lacks -= useful[at].most;
      }
      return lacks > CLOSE ? Infinity : cost;
    }

    function on(from, cost, covered, chosen) {
      if (covered.share >= wanted - CLOSE) {
        if (cost < best.cost - CLOSE) { best = { cost: cost, parts: chosen }; }
        return;
      }
      if (cost + atLeast(from, wanted - covered.share - CLOSE) >= best.cost - CLOSE) { return; }
      var part = useful[from], with_ = { share: covered.share, causes: Object.assign({}, covered.causes) };
      part.answers.forEach(function (cause) {
        if (!with_.causes[cause]) { with_.causes[cause] = true; with_.share += posterior[cause] / all; }
      });
      on(from + 1, cost + part.cost, with_, chosen.concat(part.code));
      on(from + 1, cost, covered, chosen);
    }

    on(0, 0, { share: 0, causes: {} }, []);
    var parts = Object.keys(pack.parts).filter(function (code) { return best.parts.indexOf(code) >= 0; });
    var covered = free;
    causes.forEach(function (cause) {
      var aboard = (answers[cause] || []).some(function (code) { return parts.indexOf(code) >= 0; });
      if (aboard) { covered += posterior[cause] / all; }
    });
    return {
      parts: parts, cost: best.cost, share: covered, reached: covered >= share - CLOSE, not_coverable: lacking,
      cost_not_known: parts.filter(function (code) { return typeof pack.parts[code].cost !== "number"; })
    };
  }

  /* How many of each part for a day's calls: the fewest that suffice with the chance asked for, part by part. */
  function partsForTheDay(pack, posteriors, share) {
    var needs = {}, numbers = {};
    Object.keys(pack.causes).forEach(function (cause) {
      var cheapest = null;
      answeredBy(pack, cause).forEach(function (code) {
        if (cheapest === null || costOf(pack.parts[code]) < costOf(pack.parts[cheapest])) { cheapest = code; }
      });
      if (cheapest !== null) { (needs[cheapest] = needs[cheapest] || []).push(cause); }
    });
    Object.keys(pack.parts).forEach(function (code) {
      var chances = [1], total = 0, number = 0;
      if (!needs[code]) { return; }
      posteriors.forEach(function (posterior) {
        var all = 0, one = 0;
        Object.keys(posterior).forEach(function (cause) {
          all += posterior[cause];
          if (needs[code].indexOf(cause) >= 0) { one += posterior[cause]; }
        });
        one = all > 0 ? one / all : 0;
        chances = chances.concat(0).map(function (chance, n) {
          return chance * (1 - one) + (n ? chances[n - 1] * one : 0);
        });
      });
      total = chances[0];
      while (total < share - CLOSE && number < posteriors.length) { number += 1; total += chances[number]; }
      if (number) { numbers[code] = number; }
    });
    return numbers;
  }

  root.serviceCalls = Object.assign(root.serviceCalls || {}, { partsToBring: partsToBring, partsForTheDay: partsForTheDay });
})();
