/* How likely each cause is after some answers, computed in the browser from the model's own numbers: the sum of the
   effects of all answers, made into shares. Pure: no page, no network. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};

  function given(answers, name) {
    var value = answers ? answers[name] : undefined;
    return value === undefined || value === null ? "" : value;
  }

  /* Effects of one answer on the scores of all causes. One that no call had that the model was fitted to counts as the
     rare ones do, or as not given. */
  function ofLevel(model, name, value) {
    var levels = model.levels[name], other = value === "" ? null : (model.other || {})[name];
    return (levels.hasOwnProperty(value) && levels[value]) || other || levels[""] || (model.average || {})[name] || null;
  }

  /* Effects of a quantity: straight lines between the points of the grid, level beyond its ends. */
  function ofAmount(smooth, value) {
    if (value === "" || !isFinite(Number(value))) { return smooth[""] || null; }
    var at = smooth.at, effects = smooth.effects, amount = Number(value), next = 1;
    if (amount <= at[0]) { return effects[0]; }
    if (amount >= at[at.length - 1]) { return effects[at.length - 1]; }
    while (at[next] < amount) { next += 1; }
    var share = (amount - at[next - 1]) / (at[next] - at[next - 1]);
    return effects[next - 1].map(function (low, k) { return low + share * (effects[next][k] - low); });
  }

  function effectsOf(model, name, value) {
    return model.levels[name] ? ofLevel(model, name, value) : ofAmount(model.smooth[name], value);
  }

  function names(model) {
    return Object.keys(model.levels).concat(Object.keys(model.smooth || {}));
  }

  function softmax(scores, temperature) {
    var highest = Math.max.apply(null, scores);
    var weights = scores.map(function (score) { return Math.exp((score - highest) / temperature); });
    var sum = weights.reduce(function (a, b) { return a + b; }, 0);
    return weights.map(function (weight) { return weight / sum; });
  }

  function shares(model, answers) {
    var scores = model.intercept.slice();
    names(model).forEach(function (name) {
      var effects = effectsOf(model, name, given(answers, name));
      if (effects) { effects.forEach(function (effect, k) { scores[k] += effect; }); }
    });
    return softmax(scores, model.temperature || 1);
  }

  /* Share of each cause, {cause: 0..1}, adding up to 1. What the model holds together as "rarer" is spread over those
     causes by their shares. */
  function likelihood(pack, answers) {
    var model = pack.model, found = {};
    shares(model, answers).forEach(function (share, k) {
      var cause = model.causes[k];
      if (cause !== "rarer") { found[cause] = (found[cause] || 0) + share; return; }
      Object.keys(model.rarer || {}).forEach(function (rare) {
        found[rare] = (found[rare] || 0) + share * model.rarer[rare];
      });
    });
    return found;
  }

  /* What moved the score of one cause: [{field, level, effect}], largest first. An effect is that of the answer minus
     that of the average call, less what the answer does to the other causes (weighed by their shares): positive speaks
     for the cause, negative against it. Less the mean over all, over the share of the others, comes to that. */
  function moved(pack, answers, cause) {
    var model = pack.model, now = shares(model, answers);
    var k = model.causes.indexOf(cause);
    if (k < 0) { k = model.causes.indexOf("rarer"); }
    if (k < 0) { return []; }
    return names(model).filter(function (name) {
      return given(answers, name) !== "" && effectsOf(model, name, given(answers, name));
    }).map(function (name) {
      var effects = effectsOf(model, name, given(answers, name)), mean = (model.average || {})[name] || [];
      var against = effects.map(function (effect, j) { return effect - (mean[j] || 0); });
      var centre = against.reduce(function (sum, each, j) { return sum + now[j] * each; }, 0);
      return { field: name, level: given(answers, name), effect: (against[k] - centre) / Math.max(1 - now[k], 1e-6) / (model.temperature || 1) };
    }).sort(function (a, b) { return Math.abs(b.effect) - Math.abs(a.effect); });
  }

  serviceCalls.likelihood = likelihood;
  serviceCalls.moved = moved;
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
