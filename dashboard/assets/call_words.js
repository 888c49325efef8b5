/* Chances, limits and verdicts as words. Pure: no page, no network. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};
  var CHANCES = [[0.8, "very likely"], [0.5, "likely"], [0.2, "quite possible"], [0.07, "possible"], [0, "unlikely"]];
  var UNITS = { degC: "°C", degF: "°F", fl_oz: "fl oz", ratio: "times" };
  var LEAST_QUESTIONS = 2, LEAST_TOGETHER = 0.6;
  var FINDINGS = { fault: "fault", no_fault: "no fault", inconclusive: "could not tell" };
  var MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  var AMOUNTS_TOLD = { filter_age_days: ["filter changed ", " ago"], unit_age_days: ["unit ", " old"], problem_duration_days: ["going on for ", ""],
    filter_age_began_days: ["filter changed ", " before it began"] };
  var AMOUNT_LABELS = { filter_age_days: "filter changed how long ago", unit_age_days: "age of the unit",
    problem_duration_days: "going on for how long" };

  /* In words, of the share as it is shown: 6.96% is shown as 7%, and called possible. */
  function chance(share) {
    var shown = Math.round(100 * share) / 100;
    return CHANCES.filter(function (each) { return shown >= each[0]; })[0][1];
  }

  function percent(share) { return share > 0 && share < 0.01 ? "under 1%" : Math.round(100 * share) + "%"; }

  function unit(code) { return UNITS[code] || code; }

  function capital(text) { return text ? text.charAt(0).toUpperCase() + text.slice(1) : ""; }

  function minutes(count) {
    var whole = Math.round(count);
    return whole < 1 ? "under a minute" : whole === 1 ? "1 minute" : whole + " minutes";
  }

  function isNumber(value) { return typeof value === "number" && isFinite(value); }

  function range(bounds) {
    var named = " " + unit(bounds.unit);
    if (isNumber(bounds.low) && isNumber(bounds.high)) { return bounds.low + " to " + bounds.high + named; }
    return isNumber(bounds.low) ? bounds.low + named + " and up" : "up to " + bounds.high + named;
  }

  /* The limits of the catalogue in all units in which the trade writes them. */
  function limit(each) {
    var where = each.state ? ", " + each.state : "";
    return range(each) + (each.also ? " (" + range(each.also) + ")" : "") + where;
  }

  /* What a judged reading says, in a sentence or two. */
  function verdict(told, code, inRange) {
    var by = told.sheet ? " by the maker's sheet" : "", side = told.side < 0 ? "Low" : "High";
    switch (told.verdict) {
      case "ask": return "A comma with three digits after it can be read in two ways: write 1250 or 1.25.";
      case "no_number": return "This is no number. Write what the meter shows; OL for open.";
      case "other_quantity": return "This unit measures something else than the limit: choose another.";
      case "no_limit": return "Noted. There is no limit for it alone.";
      case "healthy": return "Within limits" + by + ": " + range(told) + "." + (inRange && inRange[code] ? " " + inRange[code] : "");
      case "doubtful": return side + ": outside " + range(told) + ", but not so far that there is no doubt. Measure again, or go by the maker's sheet.";
      case "outside":
        if (told.open) { return "Open (OL): a fault, certain. Is the meter on a range above 500 ohm?"; }
        if (told.certain && told.side < 0 && told.unit && /ohm/.test(told.unit)) { return "Near 0: shorted, a fault, certain."; }
        return side + by + ": outside " + range(told) + ". A fault" + (told.sheet || told.certain ? "." : ", unless the maker's sheet says otherwise.");
      default: return "";
    }
  }

  /* Why the answers do not tell enough; "" when they do. */
  function notEnough(ranked, answered) {
    var together = ranked.slice(0, 3).reduce(function (sum, each) { return sum + each.share; }, 0);
    if (answered < LEAST_QUESTIONS) { return answered ? "only one question is answered" : "no question is answered"; }
    return together < LEAST_TOGETHER ? "the three likeliest causes together have only " + percent(together) : "";
  }

  /* The answer of the page in one or two sentences. */
  function answer(ranked, missing, question, check) {
    var first = ranked[0], next = [];
    if (question) { next.push("Ask next: " + question + "."); }
    if (check) { next.push("Check first: " + check.label + ", " + minutes(check.minutes) + "."); }
    if (missing) { return ["Not enough to tell: " + missing + "."].concat(next); }
    var second = ranked[1] && ranked[1].share >= 0.07 ? "; then " + ranked[1].label + " (" + percent(ranked[1].share) + ")" : "";
    return [capital(chance(first.share)) + ": " + first.label + " (" + percent(first.share) + ")" + second + "."].concat(next);
  }

  /* A sentence of the catalogue with the codes of causes in it as words. */
  function plain(pack, text) {
    return text.replace(/\b[a-z]+(_[a-z]+)+\b/g, function (code) { return (pack.causes[code] || {}).label || code.replace(/_/g, " "); });
  }

  /* "2026-09-20" as "20 Sep 2026". */
  function day(iso) {
    var parts = String(iso).slice(0, 10).split("-").map(Number);
    return parts.length === 3 && MONTHS[parts[1] - 1] ? parts[2] + " " + MONTHS[parts[1] - 1] + " " + parts[0] : String(iso);
  }

  function findQuestion(pack, field) {
    return pack.questions.filter(function (each) { return each.field === field; })[0];
  }

  /* An answer in words: "what is in the mould: hollow". */
  function told(pack, symptoms, field, level) {
    if (field.indexOf("symptom:") === 0) {
      var code = field.slice("symptom:".length);
      return (level === "yes" ? "complaint: " : "not complained of: ") + (symptoms[code] || code.replace(/_/g, " "));
    }
    if (field === "freezer_celsius") { return "freezer at " + Math.round(10 * level) / 10 + " °C"; }
    if (field === "complaint") { return "complaint: " + level.split("+").map(function (code) { return symptoms[code] || code.replace(/_/g, " "); }).join(", "); }
    if (AMOUNTS_TOLD[field]) { return AMOUNTS_TOLD[field].join(serviceCalls.rows.inWords(level)); }
    var question = findQuestion(pack, field);
    var found = question && question.levels.filter(function (each) { return each.code === level; })[0];
    return (question ? question.label : field.replace(/_/g, " ")) + ": " + (found ? found.label : String(level).replace(/_/g, " "));
  }

  serviceCalls.words = { chance: chance, percent: percent, unit: unit, capital: capital, minutes: minutes, range: range, limit: limit,
    verdict: verdict, notEnough: notEnough, answer: answer, told: told, day: day, plain: plain, findQuestion: findQuestion, FINDINGS: FINDINGS, AMOUNT_LABELS: AMOUNT_LABELS };
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
