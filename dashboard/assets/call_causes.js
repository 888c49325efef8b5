/* The likely causes and why, what tells the two likeliest apart, the parts to bring, and calls that were like this one. */
(function () {
  "use strict";
  var serviceCalls = window.serviceCalls = window.serviceCalls || {};
  var h = React.createElement;
  var SHOWN = 5, AT_LEAST = 2, WORTH_SHOWING = 0.02, REASONS = 3, LEAST_EFFECT = 0.1;

  function why(call, code) {
    var words = serviceCalls.words;
    var moved = serviceCalls.moved(call.pack, call.given, code).filter(function (each) {
      return Math.abs(each.effect) >= LEAST_EFFECT && serviceCalls.state.telling(each.field, each.level);
    });
    var found = call.pack.checks.filter(function (check) { return call.state.found[check.code] && (check.reveals || {})[code]; });
    function told(each) { return words.told(call.pack, call.symptoms, each.field, each.level); }
    moved = moved.filter(function (each, at) { return moved.map(told).indexOf(told(each)) === at; }).slice(0, REASONS);
    var pro = moved.filter(function (each) { return each.effect > 0; }).map(told);
    var contra = moved.filter(function (each) { return each.effect < 0; }).map(told);
    found.forEach(function (check) {
      var finding = call.state.found[check.code], text = check.label + ": " + words.FINDINGS[finding];
      if (finding === "fault") { pro.push(text); } else if (finding === "no_fault") { contra.push(text); }
    });
    return [pro.length ? "For it: " + pro.join("; ") + "." : "", contra.length ? "Against it: " + contra.join("; ") + "." : ""]
      .filter(Boolean).join(" ") || (call.missing ? "" : "No answer given speaks for or against it.");
  }

  function line(call, each) {
    var words = serviceCalls.words, cause = call.pack.causes[each.code] || {};
    return h("li", { key: each.code, "data-cause": each.code },
      h("h3", null, words.capital(each.label)),
      h("p", { className: "share" }, h("strong", null, words.percent(each.share)), " ", words.chance(each.share)),
      serviceCalls.controls.bar(each.share),
      h("p", null, why(call, each.code)),
      cause.signs ? h("p", { className: "note" }, "Typical: " + cause.signs + ".") : null);
  }

  function causes(call) {
    var ranked = call.advice.ranked, words = serviceCalls.words;
    var shown = ranked.filter(function (each, at) { return at < AT_LEAST || (at < SHOWN && each.share >= WORTH_SHOWING); });
    var others = ranked.slice(shown.length).filter(function (each) { return each.share >= 0.005; });
    var rest = ranked.slice(shown.length).reduce(function (sum, each) { return sum + each.share; }, 0);
    return serviceCalls.controls.section("call-causes", call.missing ? "Not enough to tell yet" : "Likely causes", [
      call.missing ? h("p", { key: "missing", className: "notice" }, words.capital(call.missing) + ". " +
        (serviceCalls.state.answered(call.state) < 2 ? "What follows is little more than how often each cause occurs."
          : "The next question and the first check are what would tell most.")) : null,
      h("ol", { key: "list", className: "causes" }, shown.map(function (each) { return line(call, each); })),
      others.length ? h("details", { key: "others" },
        h("summary", null, "All other causes together " + words.percent(rest)),
        h("ul", { className: "plain-list" }, others.map(function (each) {
          return h("li", { key: each.code }, words.capital(each.label) + ": " + words.percent(each.share));
        }))) : null,
      h("p", { key: "rule", className: "note" }, "“Not enough to tell” stands here when the three likeliest together have less than 60%, or when fewer than two questions are answered.")
    ]);
  }

  function apart(call) {
    if (call.advice.ranked.length < 2) { return null; }
    return serviceCalls.controls.section("call-apart", "What tells the two likeliest apart",
      h("p", { id: "apart-line" }, call.advice.apart));
  }

  function parts(call) {
    var bring = call.advice.bring, words = serviceCalls.words;
    var lines = bring.parts.map(function (code) {
      var part = call.pack.parts[code];
      var answers = part.answers.filter(function (cause) { return call.advice.shares[cause] >= 0.01; })
        .map(function (cause) { return (call.pack.causes[cause] || {}).label || cause; });
      var chance = part.answers.reduce(function (sum, cause) { return sum + (call.advice.shares[cause] || 0); }, 0);
      return h("li", { key: code }, h("h3", null, words.capital(part.label), " ", h("span", { className: "note" }, words.percent(chance))),
        h("p", null, (answers.length ? "For: " + answers.join(", ") + ". " : "") + "Van: " + part.van_stock + "."));
    });
    return serviceCalls.controls.section("call-parts", "Parts to bring", lines.length
      ? h("ul", { className: "plain-list" }, lines)
      : h("p", null, "No part stands out."),
      !lines.length ? words.percent(bring.share) + " of the likely causes can be put right without a part."
        : "With these aboard, " + words.percent(bring.share) + " of the likely causes can be put right on this visit: the cheapest set for 80%, causes that need no part included." +
      (bring.reached ? "" : " No set of the parts listed reaches that."));
  }

  function similar(call) {
    var words = serviceCalls.words, found = call.advice.similar;
    var lines = found.map(function (each) {
      var cause = (call.pack.causes[each.call.cause] || {}).label || String(each.call.cause).replace(/_/g, " ");
      var fitted = (each.call.parts || []).map(function (code) { return (call.pack.parts[code] || {}).label || code.replace(/_/g, " "); });
      return h("li", { key: each.call.call_id }, h("h3", null, words.capital(cause)),
        h("p", null, fitted.length ? "Fixed with: " + fitted.join(", ") + "." : "Fixed without a part."),
        h("p", { className: "note" }, each.common + " of " + each.given + " answers in common; closed " + words.day(each.call.closed_on) + "; call ",
          h("a", { href: "/call/" + encodeURIComponent(each.call.call_id) }, each.call.call_id)));
    });
    return serviceCalls.controls.section("call-similar", "Finished calls like this one", lines.length
      ? h("ul", { className: "plain-list" }, lines)
      : h("p", null, "None yet: answer a question first."), "What fixed them, those with most answers in common first.");
  }

  serviceCalls.causes = { causes: causes, apart: apart, parts: parts, similar: similar };
})();
