/* A file goes from the chooser to the server as it is, in one request, with its progress; nothing of it is read here. */
(function () {
  "use strict";
  var element = React.createElement;
  var askEveryMilliseconds = 1000;

  function megabytes(bytes) { return (bytes / 1e6).toLocaleString("en-GB", { maximumFractionDigits: 1 }) + " MB"; }

  function problemOf(request, file, most) {
    try { return JSON.parse(request.responseText).problem; } catch (error) { /* not from the route itself */ }
    if (request.status === 413) { return file.name + " has " + megabytes(file.size) + "; a file can have " + megabytes(most) + ". Export it in parts."; }
    if (request.status === 0) { return "The connection broke off. Nothing was kept; bring the file again."; }
    return "The file was not taken (" + request.status + "). " + (request.responseText || "").slice(0, 200);
  }

  function FileChooser(props) {
    var state = React.useState({ sending: null, share: 0, words: "", wrong: false });
    var now = state[0], set = state[1];
    var input = React.useRef(null), request = React.useRef(null);

    function say(words, wrong) { request.current = null; set({ sending: null, share: 0, words: words, wrong: !!wrong }); }

    function send(event) {
      event.preventDefault();
      event.stopPropagation();
      var file = input.current.files[0];
      if (!file) { say("Choose a file first.", true); return; }
      if (file.size > props.most) { say(problemOf({ status: 413, responseText: "" }, file, props.most), true); return; }
      if (file.size === 0) { say(file.name + " is empty. Choose another file.", true); return; }
      var asked = request.current = new XMLHttpRequest();
      asked.open("POST", props.to + "?name=" + encodeURIComponent(file.name));
      asked.setRequestHeader("Content-Type", "application/octet-stream");
      asked.upload.onprogress = function (step) {
        set({ sending: file.name, share: step.loaded / file.size, words: megabytes(step.loaded) + " of " + megabytes(file.size) + " sent", wrong: false });
      };
      asked.onload = function () {
        if (asked.status !== 201) { say(problemOf(asked, file, props.most), true); return; }
        window.location.assign(JSON.parse(asked.responseText).address);
      };
      asked.onerror = function () { say(problemOf(asked, file, props.most), true); };
      asked.onabort = function () { say("Cancelled. Nothing of the file was kept."); };
      set({ sending: file.name, share: 0, words: "0 MB of " + megabytes(file.size) + " sent", wrong: false });
      asked.send(file);
    }

    React.useEffect(function () {
      return function () { if (request.current) { request.current.abort(); } };   /* the page was left */
    }, []);

    var busy = now.sending !== null;
    /* The two buttons have keys of their own: one element that turns from "Cancel" into "Bring it" within its click would
       send the form. */
    return element("form", { className: "bring decide", onSubmit: send, id: props.id },
      element("label", { htmlFor: props.id + "-input" }, element("span", null, "Your file"),
        element("input", { type: "file", id: props.id + "-input", ref: input, disabled: busy, accept: ".csv,.txt,.tsv,.xlsx,text/csv" })),
      busy
        ? element("button", { key: "cancel", type: "button", className: "second", onClick: function () { request.current.abort(); } }, "Cancel")
        : element("button", { key: "send", type: "submit", className: "first" }, "Bring it"),
      busy ? element("progress", { max: 1, value: now.share, "aria-label": "Sent of " + now.sending }) : null,
      element("p", { role: now.wrong ? "alert" : "status", className: now.wrong ? "wrong" : "" }, now.words));
  }

  function WorkGoesOn(props) {
    var state = React.useState({ words: props.words, share: 0 });
    var now = state[0], set = state[1];
    React.useEffect(function () {
      var timer = null, left = false;
      function ask() {
        fetch(props.ask, { credentials: "same-origin", cache: "no-store" })
          .then(function (answer) { return answer.json(); })
          .then(function (told) {
            if (left) { return; }
            if (!told.goes_on) { window.location.replace(props.then); return; }
            set({ words: told.words, share: told.share });
            timer = setTimeout(ask, askEveryMilliseconds);
          })
          .catch(function () { if (!left) { timer = setTimeout(ask, 3 * askEveryMilliseconds); } });
      }
      timer = setTimeout(ask, askEveryMilliseconds / 2);
      return function () { left = true; clearTimeout(timer); };
    }, [props.ask]);
    return element("div", { className: "bring-work", id: props.id },
      element("progress", Object.assign({ max: 1, "aria-label": now.words }, now.share > 0 ? { value: now.share } : {})),
      element("p", { role: "status" }, now.words + "…"));
  }

  window.dashboard = Object.assign(window.dashboard || {}, { FileChooser: FileChooser, WorkGoesOn: WorkGoesOn });
})();
