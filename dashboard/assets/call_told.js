/* What the model is told of a call: the caller's answers over what the records know, and what follows from them, by the same
   rules as the calls it was fitted to (sql/schema/views_intake.sql). Pure: no page, no network. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};
  var SYMPTOM = "symptom:", SEASONS = ["winter", "spring", "summer", "autumn"];
  var LENGTHS = { today: 0, days: 3, weeks: 14, months: 61 };   /* days that stand for words without a number */
  var NO_FILTER = { bypass_or_none: true, reverse_osmosis: true };
  var FILTERS = { in_unit: true, in_line: true, whole_house: true };

  function none(value) { return value === undefined || value === null || value === ""; }

  function lengthLevel(days) { return days < 1 ? "today" : days < 7 ? "days" : days < 30.4375 ? "weeks" : "months"; }

  /* The complaint as one level, and each symptom as a yes or a no, once one is given. */
  function complaints(model, all) {
    var columns = Object.keys(model.levels).filter(function (name) { return name.indexOf(SYMPTOM) === 0; });
    var made = columns.filter(function (name) { return all[name] === "yes"; });
    columns.forEach(function (name) {
      if (made.length) { all[name] = all[name] === "yes" ? "yes" : "no"; } else { delete all[name]; }
    });
    if (made.length && model.levels.complaint) {
      all.complaint = made.map(function (name) { return name.slice(SYMPTOM.length); }).sort().join("+");
    }
  }

  function lengths(all) {
    if (none(all.problem_duration_days) && LENGTHS[all.problem_duration] !== undefined) {
      all.problem_duration_days = String(LENGTHS[all.problem_duration]);
    } else if (!none(all.problem_duration_days) && none(all.problem_duration)) {
      all.problem_duration = lengthLevel(Number(all.problem_duration_days));
    }
  }

  /* A filter has an age only where there is one; "never changed" is the age of the unit where there surely is. Of a
     change told and one recorded the later counts; one recorded on the day the trouble began may be the work of a visit. */
  function filter(model, all, said, known) {
    if (NO_FILTER[all.filter_kind] || all.supply_type === "reverse_osmosis") {
      if (model.levels.filter_last_changed) { all.filter_last_changed = "no_filter"; }
      delete all.filter_age_days;
      return;
    }
    var told = said.filter_age_days;
    if (none(told) && all.filter_last_changed === "never" && FILTERS[all.filter_kind]) { told = all.unit_age_days; }
    if (!none(told)) { all.filter_age_days = none(known.filter_age_days) ? told : String(Math.min(told, known.filter_age_days)); }
    var lasted = all.problem_duration === "since_new" ? all.unit_age_days : all.problem_duration_days;
    if (none(all.filter_age_days) || none(lasted)) { return; }
    var began = Number(all.filter_age_days) - Number(lasted);
    if (began > 0 || (began === 0 && !none(told) && Number(told) === Number(all.filter_age_days))) { all.filter_age_began_days = String(began); }
  }

  /* {column: level or amount} for likelihood().
     state   what was said;  known   what the records know of the unit;  today   a Date. */
  function answers(pack, state, known, today) {
    var model = pack.model, all = Object.assign({}, known || {}, state.said);
    complaints(model, all);
    lengths(all);
    if (!none(state.said.filter_age_days) && none(all.filter_last_changed)) { all.filter_last_changed = "months"; }
    if (!none(all.freezer_celsius) && none(all.freezer_temperature)) { all.freezer_temperature = "reading"; }
    filter(model, all, state.said, known || {});
    if (model.levels.season) { all.season = SEASONS[Math.floor((((today || new Date()).getMonth() + 1) % 12) / 3)]; }
    Object.keys(all).forEach(function (name) { if (!model.levels[name] && !(model.smooth || {})[name]) { delete all[name]; } });
    return all;
  }

  serviceCalls.told = { answers: answers };
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
