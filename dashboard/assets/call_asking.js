/* What to ask: by telephone first, then the question that saves most, then all the others. */
(function () {
  "use strict";
  var serviceCalls = window.serviceCalls = window.serviceCalls || {};
  var h = React.createElement;
  var TELEPHONE_CAUSES = 4, LEAST_SHARE = 0.02;
  var USUAL_UNIT = { filter_age_days: "months", unit_age_days: "years", problem_duration_days: "weeks" };

  function symptomsOf(pack) {
    return Object.keys(pack.model.levels).filter(function (name) { return name.indexOf("symptom:") === 0; });
  }

  /* Causes that the owner may put right, likeliest first, each with what to ask and how often that was enough. */
  function telephone(call) {
    var pack = call.pack, words = serviceCalls.words;
    var owned = call.advice.ranked.filter(function (each) {
      return ((pack.causes[each.code] || {}).whose || []).indexOf("owner") >= 0;
    }).filter(function (each, at) { return at === 0 || each.share >= LEAST_SHARE; }).slice(0, TELEPHONE_CAUSES);
    var lines = owned.map(function (each) {
      var phone = pack.causes[each.code].by_phone || {};
      var fixed = phone.of ? "Put right by telephone: " + phone.fixed + " of " + phone.of + "." : "No such call is on record.";
      var ask = call.sayings.telephone[each.code] || pack.causes[each.code].signs;
      return h("li", { key: each.code }, h("h3", null, words.capital(each.label), " ", h("span", { className: "note" }, words.percent(each.share))),
        h("p", null, ask), h("p", { className: "note" }, fixed));
    });
    return serviceCalls.controls.section("call-telephone", "By telephone first", [
      h("ul", { className: "plain-list", key: "list" }, lines),
      h("p", { key: "rule", className: "note" }, "Causes in the owner's hands with 2% or more, likeliest first; and of the finished calls with that cause, how many were put right without a visit.")
    ], "Ask these before anybody drives; then the questions below.");
  }

  function complaint(call, prefix) {
    var names = symptomsOf(call.pack);
    if (!names.length) { return null; }
    return serviceCalls.controls.group(prefix + "complaint", "What is the complaint?", names.map(function (name) {
      var code = name.slice("symptom:".length), label = call.symptoms[code] || code.replace(/_/g, " ");
      return serviceCalls.controls.chip(prefix + name, label, call.state.said[name] === "yes", function (on) {
        call.set("said", name, on ? "yes" : null);
      });
    }), "(one or more)");
  }

  function question(call, each, prefix, note) {
    var told = call.state.said[each.field], known = told === undefined && call.known[each.field], now = told === undefined ? known : told;
    var chips = each.levels.map(function (level) {
      return serviceCalls.controls.chip(prefix + each.field + "-" + level.code, level.label, now === level.code, function (on) {
        call.set("said", each.field, on ? level.code : call.known[each.field] ? "" : null);
      });
    });
    return serviceCalls.controls.group(prefix + each.field, serviceCalls.words.capital(each.label) + "?", chips,
      note || (known ? "(from the records)" : ""));
  }

  function amounts(call) {
    var smooth = call.pack.model.smooth || {}, words = serviceCalls.words;
    var all = Object.keys(USUAL_UNIT).filter(function (name) { return smooth[name]; }).map(function (name) {
      var told = call.state.said[name], known = told === undefined && call.known[name];
      return h(serviceCalls.controls.Amount, { key: name + call.begun, id: "amount-" + name, label: words.capital(words.AMOUNT_LABELS[name]),
        note: known ? "(from the records)" : "", days: told || known || "", unit: USUAL_UNIT[name],
        change: function (value) { call.set("said", name, value); } });
    });
    return all.concat(!smooth.freezer_celsius ? [] : h(serviceCalls.controls.Temperature, { key: "freezer" + call.begun, id: "amount-freezer_celsius",
      label: "Freezer, by a thermometer", celsius: call.state.said.freezer_celsius, units: call.units,
      change: function (value) { call.set("said", "freezer_celsius", value); } }));
  }

  function saves(minutes) {
    return minutes >= 0.5 ? "saves about " + serviceCalls.words.minutes(minutes) : "saves less than a minute";
  }

  /* The next question by itself, so that one thumb can stay where it is. */
  function next(call) {
    var best = call.advice.question, each = best && serviceCalls.words.findQuestion(call.pack, best.field);
    if (!each) { return h("p", { key: "next", className: "next-question" }, "Every question is answered or passed over."); }
    return h("div", { key: "next", className: "next-question", id: "next-question" },
      h("p", { className: "flagline" }, "Ask next: " + saves(best.saves) + " on average"),
      question(call, each, "next-"),
      serviceCalls.controls.button("skip-question", "Skip this one", function () { call.skip(each.field); }, "act second"));
  }

  function told(call) {
    var fields = Object.keys(call.state.said).filter(function (field) { return serviceCalls.state.telling(field, call.state.said[field]); });
    if (!fields.length) { return null; }
    return h("div", { key: "told", className: "told", role: "group", "aria-label": "Answered so far" },
      h("p", { className: "ask-label" }, "Answered so far", h("span", { className: "note" }, " (tap to take back)")),
      h("div", { className: "chips" }, fields.map(function (field) {
        var text = serviceCalls.words.told(call.pack, call.symptoms, field, call.state.said[field]);
        return h("button", { key: field, id: "told-" + field, type: "button", className: "chip", onClick: function () { call.takeBack(field); } },
          text, h("span", { className: "hidden" }, ", take back"), h("span", { "aria-hidden": "true" }, " ×"));
      })));
  }

  function questions(call) {
    var best = call.advice.question, pack = call.pack;
    var all = pack.questions.map(function (each) {
      var mark = best && best.field === each.field ? "Next: " + saves(best.saves) : "";
      return question(call, each, "all-", mark);
    });
    return serviceCalls.controls.section("call-questions", "What the customer tells", [
      h("div", { key: "complaint" }, complaint(call, "said-")), next(call), told(call),
      h("div", { key: "amounts", className: "amounts" }, amounts(call)),
      h("details", { key: "all", className: "all-questions" },
        h("summary", null, "All questions (" + serviceCalls.state.answered(call.state) + " answered)"), h("div", null, all))
    ], "Answer what you know and skip the rest: everything below follows at once.");
  }

  serviceCalls.asking = { telephone: telephone, questions: questions, saves: saves };
})();
