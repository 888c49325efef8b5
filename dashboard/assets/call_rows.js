/* Answers, readings and findings as rows of the canonical calls.csv and checks.csv (docs/data_contract.md), RFC 4180,
   safe to open in a spreadsheet. Pure: no page, no network. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};
  var INTAKE = ["filter_last_changed", "filter_kind", "unit_age", "problem_duration", "mould_state", "dispenser_flow",
    "fill_tube_ice", "switch_on", "freezer_temperature", "supply_type", "shutoff_valve", "what_changed", "where_it_stands",
    "already_tried"];
  var CALLS = ["call_id", "unit_id", "opened_at", "closed_at", "complaint", "root_cause", "technician_id"].concat(INTAKE, ["notes"]);
  var CHECKS = ["call_id", "sequence", "check", "reading", "reading_unit", "state", "finding"];
  var AMOUNTS = { filter_last_changed: "filter_age_days", unit_age: "unit_age_days", problem_duration: "problem_duration_days" };
  var TEMPERATURE = "freezer_celsius";
  var DAYS = { days: 1, weeks: 7, months: 30.4375, years: 365.25 };
  var RUN_BY_A_SPREADSHEET = /^[=+\-@\t\r\n]/, NUMBER = /^[-+]?(\d+([.,]\d+)?|[.,]\d+)$/;

  /* One field: quoted where it must be; text that a spreadsheet would run gets an apostrophe before it. */
  function field(value) {
    var text = value === null || value === undefined ? "" : String(value);
    if (RUN_BY_A_SPREADSHEET.test(text) && !NUMBER.test(text)) { text = "'" + text; }
    return /[",\r\n]/.test(text) || text !== text.trim() ? '"' + text.replace(/"/g, '""') + '"' : text;
  }

  function csv(columns, rows) {
    return [columns].concat(rows.map(function (row) { return columns.map(function (name) { return row[name]; }); }))
      .map(function (cells) { return cells.map(field).join(","); }).join("\r\n") + "\r\n";
  }

  /* Days as people say them: {amount, unit}, at most one decimal. */
  function spoken(days) {
    var unit = days < 14 ? "days" : days < 60 ? "weeks" : days < 730 ? "months" : "years";
    return { amount: Math.round((10 * days) / DAYS[unit]) / 10, unit: unit };
  }

  function inWords(days) {
    var told = spoken(Number(days));
    return told.amount + " " + (told.amount === 1 ? told.unit.slice(0, -1) : told.unit);
  }

  function said(name, answers) {
    var amount = answers[AMOUNTS[name]];
    if (name === "freezer_temperature" && answers[TEMPERATURE]) { return "reads " + answers[TEMPERATURE] + " C"; }
    return amount !== undefined && amount !== "" ? inWords(amount) : answers[name] || "";
  }

  /* The one row of calls.csv. `who` holds what was typed: call_id, unit_id, opened_at, technician_id, root_cause, notes.
     Only what the caller said is written, not what the records knew already; the call stays open (closed_at blank). */
  function callRow(who, state) {
    var row = Object.assign({ closed_at: "" }, who);
    row.complaint = Object.keys(state.said).filter(function (name) {
      return name.indexOf("symptom:") === 0 && state.said[name] === "yes";
    }).map(function (name) { return name.slice("symptom:".length).replace(/_/g, " "); }).join("; ");
    INTAKE.forEach(function (name) { row[name] = said(name, state.said); });
    return row;
  }

  /* The rows of checks.csv: one for each reading, or one for a finding without any, in the order they were made.
     fieldsOf   check -> its readings, as from readings.readingsOf. */
  function checkRows(callId, state, checks, fieldsOf) {
    var rows = [], byCode = {}, order = Object.keys(state.found);
    checks.forEach(function (check) {
      byCode[check.code] = check;
      var read = fieldsOf(check).some(function (each) { return hasReading(state, each); });
      if (read && order.indexOf(check.code) < 0) { order.push(check.code); }
    });
    order.filter(function (code) { return byCode[code]; }).forEach(function (code, at) {
      var shared = { call_id: callId, sequence: at + 1, check: code, finding: state.found[code] || "" };
      var read = fieldsOf(byCode[code]).filter(function (each) { return hasReading(state, each); });
      read.forEach(function (each) {
        var taken = state.read[each.code];
        var value = serviceCalls.readings.parse(taken.text).value;
        rows.push(Object.assign({ reading: value === Infinity ? "OL" : value, reading_unit: taken.unit || each.unit, state: each.state }, shared));
      });
      if (!read.length) { rows.push(shared); }
    });
    return rows;
  }

  function hasReading(state, each) {
    var taken = state.read[each.code];
    return !!taken && serviceCalls.readings.parse(taken.text).value !== null;
  }

  function two(number) { return String(number).padStart(2, "0"); }

  function moment(date) {
    return [date.getFullYear(), two(date.getMonth() + 1), two(date.getDate())].join("-") + " " + two(date.getHours()) + ":" + two(date.getMinutes());
  }

  function proposedId(date) { return "N" + moment(date).replace(/\D/g, "") + two(date.getSeconds()); }

  serviceCalls.rows = { csv: csv, callRow: callRow, checkRows: checkRows, moment: moment, proposedId: proposedId, spoken: spoken,
    inWords: inWords, CALLS: CALLS, CHECKS: CHECKS, INTAKE: INTAKE, AMOUNTS: AMOUNTS, DAYS: DAYS };
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
