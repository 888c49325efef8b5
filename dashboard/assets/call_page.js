/* The New call page: drawn and computed in the browser from the pack that came with it, without the network. Answers,
   readings and findings stand in the address; names and notes only in this tab. */
(function () {
  "use strict";
  var serviceCalls = window.serviceCalls = window.serviceCalls || {};
  var h = React.createElement;
  var latest = { lines: null, show: null };   /* the answer of the page and where it is shown */
  var kept = null;                            /* what was typed outlives a page drawn anew for another unit */

  function say(lines) {
    latest.lines = lines;
    if (latest.show) { latest.show(lines); }
  }

  function CallAnswer(props) {
    var shown = React.useState(latest.lines), lines = shown[0];
    React.useEffect(function () {
      latest.show = shown[1];
      shown[1](latest.lines);
      return function () { latest.show = null; };
    }, []);
    return h("div", { id: props.id, className: props.className, role: "status", "aria-live": "polite" },
      (lines || [props.before]).map(function (text, at) { return h("p", { key: at }, text); }));
  }

  function freshWho(unitId) {
    return { call_id: serviceCalls.rows.proposedId(new Date()), unit_id: unitId, technician_id: "", root_cause: "", notes: "" };
  }

  /* What was typed goes on with a call that is under way; a new call keeps the technician alone, and no notes. */
  function takenUp(state, unitId) {
    var underWay = ["said", "found", "read"].some(function (part) { return Object.keys(state[part]).length > 0; });
    if (kept && underWay) { return kept; }
    return Object.assign(freshWho(unitId), kept ? { technician_id: kept.technician_id } : {});
  }

  function daysSince(day) {
    var then = new Date(day + "T00:00:00"), days = Math.round((Date.now() - then.getTime()) / 86400000);
    return days >= 0 ? String(days) : null;
  }

  /* What the records know of the unit, as far as the model asks for it. */
  function knownOf(props) {
    var known = {}, model = props.pack.model;
    Object.keys(props.known || {}).forEach(function (field) {
      if (model.levels[field] && model.levels[field][props.known[field]]) { known[field] = props.known[field]; }
    });
    Object.keys(props.known_days || {}).forEach(function (name) {
      var days = daysSince(props.known_days[name]);
      if ((model.smooth || {})[name] && days !== null) { known[name] = days; }
    });
    return known;
  }

  function leaving(props) {
    var own = (props.pack.leave || []).map(function (each) { return typeof each === "string" ? each : each.do || each.label; });
    return own.length ? own : props.sayings.leave;
  }

  function jump(id) {
    var title = document.getElementById(id);
    if (title) { title.scrollIntoView(); title.focus({ preventScroll: true }); }
  }

  /* Always in reach of the thumb: the likeliest cause, and what to do next. */
  function now(call) {
    var words = serviceCalls.words, first = call.advice.ranked[0], check = call.advice.steps[0];
    return h("div", { className: "call-now", role: "group", "aria-label": "Where the call stands" },
      h("p", null, call.missing ? "Not enough to tell" : words.capital(first.label) + " " + words.percent(first.share)),
      call.advice.question ? serviceCalls.controls.button("go-question", "Next question", function () { jump("call-questions-title"); }, "act second") : null,
      check ? serviceCalls.controls.button("go-check", "First check", function () { jump("call-checks-title"); }, "act second") : null);
  }

  function Call(props) {
    var states = React.useState(function () { return serviceCalls.state.fromSearch(window.location.search); });
    var skips = React.useState({}), whos = React.useState(function () { return takenUp(states[0], props.unit_id); });
    var ticks = React.useState({}), begun = React.useState(0);
    var opened = React.useRef(new Date()), focused = React.useRef(""), onward = React.useRef(false);
    var state = states[0], known = React.useMemo(function () { return knownOf(props); }, [props.pack, props.unit_id]);

    var given = serviceCalls.told.answers(props.pack, state, known, opened.current);
    var advice = React.useMemo(function () {
      return serviceCalls.advise(props.pack, given, state.found, skips[0]);
    }, [props.pack, known, state.said, state.found, skips[0]]);
    var missing = serviceCalls.words.notEnough(advice.ranked, serviceCalls.state.answered(state));

    React.useEffect(function () {
      var search = serviceCalls.state.toSearch(state, window.location.search);
      if (search !== window.location.search && window.location.pathname === "/new-call") {
        window.history.replaceState(window.history.state, "", "/new-call" + search + window.location.hash);
      }
    }, [state]);
    React.useEffect(function () {
      var step = advice.steps[0];
      say(serviceCalls.words.answer(advice.ranked, missing, advice.question && advice.question.label, step && step.check));
    }, [advice, missing]);
    React.useEffect(function () { kept = whos[0]; }, [whos[0]]);
    React.useEffect(function () {   /* another unit, or another step of the history: the address says what holds */
      states[1](serviceCalls.state.fromSearch(window.location.search));
      if (props.unit_id) { whos[1](Object.assign({}, whos[0], { unit_id: props.unit_id })); }
    }, [props.pack, props.unit_id]);
    React.useEffect(function () {   /* what had the focus may have been drawn anew elsewhere */
      if (onward.current) {   /* a check is made: on to the one that is first now */
        onward.current = false;
        focused.current = advice.steps.length ? "check-" + advice.steps[0].check.code + "-summary" : "call-checks-title";
        document.getElementById(focused.current).focus();
        return;
      }
      if (document.activeElement !== document.body || !focused.current) { return; }
      var again = document.getElementById(focused.current) || document.querySelector("#next-question .chip");
      if (again) { again.focus({ preventScroll: true }); }
    });

    var call = {
      pack: props.pack, units: props.units, sayings: props.sayings, symptoms: props.symptoms, known: known, state: state, given: given,
      advice: advice, missing: missing, who: whos[0], ticked: ticks[0], openedAt: opened.current, begun: begun[0],
      leave: leaving(props),
      set: function (part, key, value) { states[1](function (old) { return serviceCalls.state.but(old, part, key, value); }); },
      find: function (check, finding) { onward.current = finding !== null; call.set("found", check, finding); },
      takeBack: function (field) { begun[1](begun[0] + 1); call.set("said", field, null); },
      skip: function (field) { var next = Object.assign({}, skips[0]); next[field] = true; skips[1](next); },
      note: function (name, value) { var next = Object.assign({}, whos[0]); next[name] = value; whos[1](next); },
      tick: function (at) { var next = Object.assign({}, ticks[0]); next[at] = !next[at]; ticks[1](next); },
      startAnew: function () {
        states[1](serviceCalls.state.empty()); skips[1]({}); ticks[1]({}); begun[1](begun[0] + 1);
        opened.current = new Date(); whos[1](freshWho(props.unit_id)); jump("question");
      }
    };
    return h("div", { className: "new-call", onFocus: function (event) { focused.current = event.target.id; } },
      serviceCalls.asking.telephone(call), serviceCalls.asking.questions(call), serviceCalls.causes.causes(call),
      serviceCalls.causes.apart(call), serviceCalls.checks.checks(call), serviceCalls.causes.parts(call),
      serviceCalls.causes.similar(call), serviceCalls.keeping.leave(call), serviceCalls.keeping.keep(call), now(call),
      serviceCalls.keeping.sheet(call));
  }

  function Leaving(props) {
    var ticks = React.useState({});
    var call = { leave: props.sayings.leave, ticked: ticks[0], tick: function (at) { var next = Object.assign({}, ticks[0]); next[at] = !next[at]; ticks[1](next); } };
    return h("div", { className: "new-call" }, serviceCalls.keeping.leave(call));
  }

  function NewCall(props) {
    return h("div", { id: props.id }, props.pack ? h(Call, props) : h(Leaving, props));
  }

  /* Another unit is the one thing that needs the server; what was answered goes along in the address. */
  document.addEventListener("submit", function (event) {
    if (!event.target.matches("form.unit-of-call")) { return; }
    event.preventDefault();
    var says = document.getElementById("unit-says");
    says.textContent = window.navigator.onLine ? "" : "No network: its visits can not be fetched now. Go on answering; nothing is lost.";
    if (!window.navigator.onLine) { return; }
    var pairs = new URLSearchParams(window.location.search), wanted = event.target.querySelector("input").value.trim();
    if (wanted) { pairs.set("unit", wanted); } else { pairs.delete("unit"); }
    var text = pairs.toString();
    window.dash_clientside.shell.go("/new-call", text ? "?" + text : "");
  });

  window.dashboard = Object.assign(window.dashboard || {}, { NewCall: NewCall, CallAnswer: CallAnswer });
})();
