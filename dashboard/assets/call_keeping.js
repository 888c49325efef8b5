/* Before leaving, files to keep, and the job sheet for paper. */
(function () {
  "use strict";
  var serviceCalls = window.serviceCalls = window.serviceCalls || {};
  var h = React.createElement;
  var CHECKS_ON_PAPER = 14, CAUSES_ON_PAPER = 5;

  function leave(call) {
    var lines = call.leave.map(function (text, at) {
      return h("li", { key: at }, h("label", { htmlFor: "leave-" + at, className: "tickable" },
        h("input", { id: "leave-" + at, type: "checkbox", checked: !!call.ticked[at], onChange: function () { call.tick(at); } }),
        h("span", null, text)));
    });
    return serviceCalls.controls.section("call-leave", "Before you leave", h("ul", { className: "plain-list" }, lines));
  }

  /* Hands a text to the browser as a file; nothing is sent anywhere. */
  function save(name, text) {
    var link = document.createElement("a");
    var address = URL.createObjectURL(new Blob(["\ufeff" + text], { type: "text/csv;charset=utf-8" }));
    link.href = address;
    link.download = name;
    document.body.appendChild(link);
    link.click();
    link.remove();
    setTimeout(function () { URL.revokeObjectURL(address); }, 1000);
  }

  function rowsOf(call) {
    var who = call.who, rows = serviceCalls.rows;
    var id = who.call_id.trim();
    var row = rows.callRow({ call_id: id, unit_id: who.unit_id.trim(), opened_at: rows.moment(call.openedAt),
      technician_id: who.technician_id.trim(), root_cause: who.root_cause, notes: who.notes }, call.state);
    var fieldsOf = function (check) { return serviceCalls.readings.readingsOf(check, call.given, call.units); };
    return { calls: rows.csv(rows.CALLS, [row]), checks: rows.csv(rows.CHECKS, rows.checkRows(id, call.state, call.pack ? call.pack.checks : [], fieldsOf)) };
  }

  function keep(call) {
    var who = call.who, controls = serviceCalls.controls, pack = call.pack;
    var lacking = [who.call_id.trim() ? "" : "a number for the call", who.unit_id.trim() ? "" : "the number of the unit"].filter(Boolean).join(" and ");
    function put(name) { return function (value) { call.note(name, value); }; }
    function file(table) { return function () { if (!lacking) { save(table + "-" + who.call_id.trim().replace(/[^\w.-]/g, "_") + ".csv", rowsOf(call)[table]); } }; }
    var causes = Object.keys(pack.causes).sort(function (a, b) { return pack.causes[a].label < pack.causes[b].label ? -1 : 1; });
    return controls.section("call-keep", "Keep what was answered, read and found", [
      h("div", { key: "who", className: "who" },
        controls.field("who-call_id", "Number of the call", who.call_id, put("call_id"), { maxLength: 80 }),
        controls.field("who-unit_id", "Number of the unit", who.unit_id, put("unit_id"), { maxLength: 80 }),
        controls.field("who-technician_id", "Technician, as an id", who.technician_id, put("technician_id"), { maxLength: 80 }),
        h("label", { htmlFor: "who-root_cause", className: "typed-line" }, h("span", null, "What it turned out to be"),
          h("select", { id: "who-root_cause", value: who.root_cause, onChange: function (event) { call.note("root_cause", event.target.value); } },
            [h("option", { key: "", value: "" }, "not yet known")].concat(causes.map(function (code) {
              return h("option", { key: code, value: code }, pack.causes[code].label);
            })))),
        controls.field("who-notes", "Notes (kept in the file only)", who.notes, put("notes"), { rows: 3, maxLength: 2000 })),
      h("p", { key: "lacking", className: "note", role: "status" }, lacking ? "To save a file, give " + lacking + "." : ""),
      h("div", { key: "buttons", className: "buttons" },
        controls.button("save-calls", "Save calls.csv", file("calls"), "act", { "aria-disabled": String(!!lacking) }),
        controls.button("save-checks", "Save checks.csv", file("checks"), "act", { "aria-disabled": String(!!lacking) }),
        controls.button("print-sheet", "Print the job sheet", function () { window.print(); }, "act second"),
        controls.button("start-anew", "Start anew", call.startAnew, "act second"))
    ], "Two files for service-calls load. They are made here; nothing is sent.");
  }

  /* One page of paper: printed in place of the screen. */
  function sheet(call) {
    var words = serviceCalls.words, pack = call.pack;
    var said = Object.assign({}, call.known, call.state.said);
    var answers = Object.keys(said).filter(function (field) { return serviceCalls.state.telling(field, said[field]); });
    var causes = call.advice.ranked.slice(0, CAUSES_ON_PAPER).map(function (each) { return each.label + " " + words.percent(each.share); });
    var rows = call.advice.steps.slice(0, CHECKS_ON_PAPER).map(function (step) {
      var check = step.check, limits = serviceCalls.readings.readingsOf(check, call.given, call.units).filter(function (each) { return each.limit; });
      var kind = serviceCalls.checks.classOf(check);
      return h("tr", { key: check.code }, h("td", null, words.capital(check.label), " (" + words.minutes(check.minutes) + ")"),
        h("td", null, step.setup ? (pack.setups[step.setup] || {}).label : "front"), h("td", null, kind + (kind === "c" ? ": qualified people only" : "") + (check.cautions && check.cautions.length ? "; " + check.cautions.join("; ") : "")),
        h("td", null, limits.map(function (each) { return words.limit(each.limit); }).join("; ")), h("td", null, ""), h("td", null, ""));
    });
    return h("div", { className: "job-sheet", "aria-hidden": "true" },
      h("h2", null, "Job sheet"),
      h("p", null, "Call " + (call.who.call_id || "________") + " · unit " + (call.who.unit_id || "________") + " · " + serviceCalls.rows.moment(call.openedAt) + " · technician ________"),
      h("p", null, h("strong", null, "Told: "), answers.map(function (field) { return words.told(pack, call.symptoms, field, said[field]); }).join("; ") || "nothing yet"),
      h("p", null, h("strong", null, call.missing ? "Not enough to tell: " : "Likely: "), causes.join("; ")),
      h("p", null, h("strong", null, "Bring: "), call.advice.bring.parts.map(function (code) { return pack.parts[code].label; }).join("; ") || "nothing in particular"),
      h("table", null, h("thead", null, h("tr", null, ["Check, in this order", "Set-up", "Class", "Healthy", "Reading", "Found"].map(function (name) { return h("th", { key: name }, name); }))),
        h("tbody", null, rows)),
      h("p", null, ["a", "b", "c"].map(function (kind) { return kind + ": " + pack.cautions[kind]; }).join(" ")),
      h("p", null, "Limits are common practice and yield to the maker's service sheet. Local codes and licensed practice come first."),
      h("ul", null, call.leave.map(function (text, at) { return h("li", { key: at }, "☐ " + text); })));
  }

  serviceCalls.keeping = { leave: leave, keep: keep, sheet: sheet, rowsOf: rowsOf };
})();
