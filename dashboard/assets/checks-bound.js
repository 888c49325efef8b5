/* What no order of checks can beat, as in analytics/causes/order_bound.py, where it is proved. */
(function () {
  "use strict";
  var root = typeof window === "undefined" ? globalThis : window;
  var LEAST = 1e-12;

  function lowerBound(problem) {
    if (!problem.implied) { return bound(problem, problem.weights); }
    return Math.min.apply(null, problem.weights.map(function (_, without) {
      return bound(problem, problem.weights.map(function (weight, i) { return i === without ? 0 : weight; }));
    }));
  }

  function bound(problem, weights) {
    var whole = 0, findable = 0, bySetup = {}, checks;
    weights.forEach(function (weight, i) {
      whole += weight;
      findable += weight * (1 - problem.reveals.reduce(function (left, shown) { return left * (1 - shown[i]); }, 1));
    });
    checks = problem.reveals.map(function (shown, j) {
      var found = 0, only = problem.setups[j].length === 1 ? problem.setups[j][0] : -1;
      weights.forEach(function (weight, i) { found += weight * shown[i]; });
      bySetup[only] = (bySetup[only] || 0) + found;
      return { shown: found, minutes: problem.minutes[j], only: only };
    });
    checks.forEach(function (check) {
      if (check.only >= 0) {
        check.minutes += problem.setupMinutes[check.only] * check.shown / Math.max(bySetup[check.only], LEAST);
      }
    });
    checks.sort(function (a, b) { return b.shown / Math.max(b.minutes, LEAST) - a.shown / Math.max(a.minutes, LEAST); });
    return Math.max(withoutCap(checks, whole, problem.visit), withCap(checks, whole, findable, problem.visit));
  }

  function withoutCap(checks, whole, visit) {
    var left = whole, paid = 0, least = visit * whole;
    checks.forEach(function (check) {
      paid += check.minutes * left;
      left -= check.shown;
      least = Math.min(least, paid + visit * left);
    });
    return least;
  }

  /* A line through points that stand in order, [x, y] by its checks. */
  function lineThrough(checks, yOf) {
    var points = [[0, 0]];
    checks.forEach(function (check, at) { points.push([points[at][0] + check.shown, points[at][1] + yOf(check)]); });
    return points;
  }

  function on(points, x) {
    for (var at = 1; at < points.length; at += 1) {
      if (x <= points[at][0]) {
        var from = points[at - 1], to = points[at];
        return to[0] > from[0] ? from[1] + (x - from[0]) / (to[0] - from[0]) * (to[1] - from[1]) : from[1];
      }
    }
    return points[points.length - 1][1];
  }

  function withCap(checks, whole, findable, visit) {
    var times = lineThrough(checks, function (check) { return check.minutes; });
    var byMinutes = checks.slice().sort(function (a, b) { return a.minutes - b.minutes; });
    var halves = lineThrough(byMinutes, function (check) { return Math.min(check.minutes / 2, visit) * check.shown; });
    var most = Math.min(findable, times[times.length - 1][0]), paid = 0, before = 0, least = Infinity;
    times.concat(halves).map(function (point) { return Math.min(point[0], most); })
      .sort(function (a, b) { return a - b; })
      .forEach(function (found) {
        paid += (on(times, found) - on(times, before)) * (whole - (found + before) / 2);
        before = found;
        least = Math.min(least, paid + on(halves, found) + visit * (whole - found));
      });
    return least;
  }

  root.serviceCalls = Object.assign(root.serviceCalls || {}, { lowerBound: lowerBound });
})();
