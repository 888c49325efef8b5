/* The checks in order, by set-up: cautions before each step, limits with units, a field that judges the reading, and what
   was found. */
(function () {
  "use strict";
  var serviceCalls = window.serviceCalls = window.serviceCalls || {};
  var h = React.createElement;
  var FINDINGS = ["fault", "no_fault", "inconclusive"];
  var OPEN_CIRCUIT = /ohm/;

  function classOf(check) { return ["a", "b", "c"].indexOf(check.caution) >= 0 ? check.caution : "c"; }

  function cautions(call, check) {
    var kind = classOf(check), more = (check.cautions || []).join("; ");
    return h("p", { className: "caution class-" + kind },
      h("strong", null, kind === "c" ? "Qualified people only. " : "First: "),
      call.pack.cautions[kind] + (more ? " Also: " + more + "." : ""));
  }

  function reading(call, check, each) {
    var taken = call.state.read[each.code] || { text: "", unit: each.unit }, sheet = call.state.sheet[each.code];
    var told = serviceCalls.readings.judge(each.limit, taken.text, taken.unit, call.units, sheet);
    var id = "read-" + each.code, words = serviceCalls.words;
    function put(text, unit) { call.set("read", each.code, text === "" && unit === each.unit ? null : { text: text, unit: unit }); }
    return h("div", { key: each.code, className: "reading" },
      h("label", { htmlFor: id }, words.capital(each.label)),
      each.limit ? h("p", { className: "note" }, "Healthy: " + words.limit(each.limit) + ". " + each.limit.says) : null,
      h("span", { className: "typed" },
        h("input", { id: id, type: "text", inputMode: /deg/.test(each.unit) ? "text" : "decimal", autoComplete: "off", maxLength: 12, value: taken.text,
          "aria-describedby": id + "-says", onChange: function (event) { put(event.target.value, taken.unit); } }),
        h("select", { id: id + "-unit", "aria-label": each.label + ", unit", value: taken.unit,
          onChange: function (event) { put(taken.text, event.target.value); } },
          each.units.map(function (unit) { return h("option", { key: unit, value: unit }, words.unit(unit)); })),
        OPEN_CIRCUIT.test(each.unit) ? serviceCalls.controls.button(id + "-ol", "OL", function () { put("OL", taken.unit); }, "act second",
          { "aria-label": "Open circuit, OL" }) : null),
      h("p", { id: id + "-says", className: "says " + told.verdict, role: "status" }, words.verdict(told, each.code, call.sayings.in_range)),
      each.limit ? makersSheet(call, each, taken, sheet) : null);
  }

  function makersSheet(call, each, taken, sheet) {
    var now = sheet || { low: null, high: null, unit: taken.unit };
    function put(side, text) {
      var read = serviceCalls.readings.parse(text).value, next = { low: now.low, high: now.high, unit: taken.unit };
      next[side] = read === null || !isFinite(read) ? null : read;
      call.set("sheet", each.code, next.low === null && next.high === null ? null : next);
    }
    function bound(side, label) {
      return h("label", { key: side, htmlFor: "sheet-" + each.code + "-" + side }, label,
        h("input", { id: "sheet-" + each.code + "-" + side, type: "text", inputMode: "decimal", autoComplete: "off", maxLength: 10,
          defaultValue: now[side] === null ? "" : String(now[side]), key: call.begun, onChange: function (event) { put(side, event.target.value); } }));
    }
    return h("details", { className: "sheet" },
      h("summary", null, sheet ? "By the maker's sheet: " + serviceCalls.words.range(sheet) : "The maker's sheet says otherwise"),
      h("div", { className: "typed" }, bound("low", "At least "), bound("high", "At most "), h("span", null, serviceCalls.words.unit(now.unit))));
  }

  function difference(call, each) {
    var told = serviceCalls.readings.judge(each.limit, String(each.value), each.unit, call.units);
    return h("p", { key: each.limit.code, className: "says " + told.verdict },
      serviceCalls.words.capital(each.limit.label) + ": " + each.value + " " + each.unit + ". " + serviceCalls.words.verdict(told, each.limit.code) + " " + each.limit.says);
  }

  /* What the readings of a check suggest together: a fault if one is. */
  function suggested(call, check, fields) {
    var all = fields.map(function (each) {
      var taken = call.state.read[each.code];
      return taken ? serviceCalls.readings.judge(each.limit, taken.text, taken.unit, call.units, call.state.sheet[each.code]).finding : undefined;
    }).concat(serviceCalls.readings.differences(check, fields, call.state.read, call.units).map(function (each) {
      return serviceCalls.readings.judge(each.limit, String(each.value), each.unit, call.units).finding;
    }));
    return ["fault", "inconclusive", "no_fault"].filter(function (finding) { return all.indexOf(finding) >= 0; })[0];
  }

  function card(call, check, open, waitsFirst) {
    var fields = serviceCalls.readings.readingsOf(check, call.given, call.units), words = serviceCalls.words;
    var finding = call.state.found[check.code], hint = suggested(call, check, fields), id = "check-" + check.code;
    var waits = check.beside_minutes ? ", then " + words.minutes(check.beside_minutes) + " of waiting beside other checks" : "";
    return h("li", { key: check.code, id: id, "data-check": check.code },
      h("details", { open: open, key: call.begun },
        h("summary", { id: id + "-summary" }, h("span", { className: "check-name" }, words.capital(check.label),
          h("span", { className: "note" }, " " + words.minutes(check.minutes) + waits),
          classOf(check) === "c" ? h("span", { className: "qualified" }, "Live voltage: qualified people only") : null,
          finding ? h("span", { className: "found" }, "Found: " + words.FINDINGS[finding]) : null)),
        h("div", { className: "check-body" },
          waitsFirst >= 1 ? h("p", { className: "note" }, "First wait " + words.minutes(waitsFirst) + " for the result that is under way.") : null,
          cautions(call, check),
          check.tells ? h("p", { className: "note" }, words.capital(words.plain(call.pack, check.tells)) + ".") : null,
          serviceCalls.readings.settings(check).map(function (limit) { return h("p", { key: limit.code, className: "note" }, "Meter: " + limit.says); }),
          fields.map(function (each) { return reading(call, check, each); }),
          serviceCalls.readings.differences(check, fields, call.state.read, call.units).map(function (each) { return difference(call, each); }),
          h("div", { className: "chips findings", role: "group", "aria-label": "What was found: " + check.label }, FINDINGS.map(function (each) {
            return serviceCalls.controls.chip("found-" + check.code + "-" + each, words.capital(words.FINDINGS[each]), finding === each, function (on) {
              call.find(check.code, on ? each : null);
            }, hint === each && !finding ? { className: "chip hinted" } : {});
          })),
          hint && !finding ? h("p", { className: "note" }, "The reading says: " + words.FINDINGS[hint] + ". Tap to record it.") : null)));
  }

  /* Steps that follow each other under one set-up, as groups. */
  function grouped(steps) {
    return steps.reduce(function (groups, step) {
      var last = groups[groups.length - 1];
      if (last && last.setup === step.setup) { last.steps.push(step); } else { groups.push({ setup: step.setup, steps: [step] }); }
      return groups;
    }, []);
  }

  function heading(call, code, seen) {
    if (!code) { return "From the front, nothing moved"; }
    var setup = call.pack.setups[code] || { label: code }, first = !seen[code];
    seen[code] = true;
    return serviceCalls.words.capital(setup.label) + (first ? ": " + serviceCalls.words.minutes(call.advice.setupMinutes(code)) + ", once" : ", as before");
  }

  function checks(call) {
    var made = call.pack.checks.filter(function (check) { return call.state.found[check.code]; });
    var others = call.advice.others, seen = {}, first = call.advice.steps.length ? call.advice.steps[0].check.code : "";
    call.advice.paid.forEach(function (code) { seen[code] = true; });
    return serviceCalls.controls.section("call-checks", "Checks, in this order", [
      made.length ? h("div", { key: "made" }, h("h3", { className: "setup" }, "Made so far"),
        h("ul", { className: "checks" }, made.map(function (check) { return card(call, check, false); }))) : null,
      grouped(call.advice.steps).map(function (group, at) {
        return h("div", { key: at + group.setup }, h("h3", { className: "setup" }, heading(call, group.setup, seen)),
          h("ol", { className: "checks" }, group.steps.map(function (step) { return card(call, step.check, step.check.code === first, step.waits); })));
      }),
      others.length ? h("details", { key: "others", className: "other-checks" },
        h("summary", null, "Other checks (" + others.length + "): at present not worth their minutes"),
        h("ul", { className: "checks" }, others.map(function (check) { return card(call, check, false); }))) : null,
      h("p", { key: "sheet", className: "note" }, "Limits are common practice and yield to the maker's service sheet. Local codes and licensed practice come first.")
    ], "About " + serviceCalls.words.minutes(call.advice.minutes) + " to the fault, on average, a second visit included where nothing is found." +
      (call.advice.exact ? " No order takes less." : " No order can take less than " + serviceCalls.words.minutes(call.advice.least) + "."));
  }

  serviceCalls.checks = { checks: checks, grouped: grouped, classOf: classOf, heading: heading };
})();
