/* What the shell does in the browser: links and filters change the address, the address makes the page. */
(function () {
  "use strict";
  var settleMilliseconds = 300;   /* a select walked through by arrow keys is one change, not five */
  var pending = null;
  var focusedId = null;
  var shownPath = null;
  var section = window.location.hash;   /* the part of the next page to scroll to, "#returns" */

  function go(path, search) {
    /* href too: a page that wrote its state into the address by itself has left an old one behind, which would win */
    dash_clientside.set_props("address", { pathname: path, search: search, href: window.location.origin + path + search });
  }

  function chosen(form) {
    var pairs = new URLSearchParams(form.dataset.keep || "");
    Array.from(form.elements).forEach(function (control) {
      var picked = control.selectedOptions && control.selectedOptions[0];
      var several = picked && picked.dataset.values ? JSON.parse(picked.dataset.values) : [control.value];
      several.forEach(function (value) { if (control.name && value) { pairs.append(control.name, value); } });
    });
    var text = pairs.toString();
    return text ? "?" + text : "";
  }

  document.addEventListener("change", function (event) {
    var form = event.target.closest("form.sentence");
    if (!form) { return; }
    focusedId = event.target.id;
    clearTimeout(pending);
    pending = setTimeout(function () { go(window.location.pathname, chosen(form)); }, settleMilliseconds);
  });

  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.matches("form.decide")) { return; }   /* the browser itself sends it, and follows to the list */
    event.preventDefault();
    var wanted = form.matches("form.find[data-path]") && form.querySelector("input").value.trim();
    if (wanted) { go(form.dataset.path + encodeURIComponent(wanted), ""); }
  });

  document.addEventListener("click", function (event) {
    var menu = event.target.closest("button.menu");
    if (menu) {
      var open = document.getElementById(menu.getAttribute("aria-controls")).classList.toggle("open");
      menu.setAttribute("aria-expanded", String(open));
      return;
    }
    var picture = event.target.closest("button[data-picture]");
    if (picture) { savePicture(picture.dataset.picture, picture.dataset.name); return; }
    var anchor = event.target.closest("a[href^='/']");
    var plain = event.button === 0 && !(event.ctrlKey || event.metaKey || event.shiftKey || event.altKey);
    if (!anchor || !plain || event.defaultPrevented || anchor.hasAttribute("download") || anchor.target) { return; }
    event.preventDefault();
    focusedId = anchor.closest("thead") ? anchor.textContent : null;
    var url = new URL(anchor.href);
    section = url.hash;
    go(url.pathname, url.search);
  });

  /* A page is drawn anew as a whole: put the focus back where it was, or on the title of a new page. */
  function settled() {
    var title = document.querySelector("#page h1");
    if (!title) { return; }
    document.title = title.textContent + " · " + document.documentElement.dataset.product;
    var again = focusedId && document.getElementById(focusedId);
    var part = section && document.getElementById(section.slice(1));
    if (part) {
      var start = part.querySelector("[tabindex='-1']");   /* where a form opens, its title gets the focus */
      if (start) { start.focus({ preventScroll: true }); }
      part.scrollIntoView();
    } else if (shownPath !== null && shownPath !== window.location.pathname) {
      title.focus({ preventScroll: true });
      window.scrollTo(0, 0);
    } else if (again && document.activeElement === document.body) {
      again.focus({ preventScroll: true });
    }
    shownPath = window.location.pathname;
    focusedId = null;
    section = "";
  }

  function savePicture(address, name) {
    fetch(address, { credentials: "same-origin" })
      .then(function (answer) { return answer.json(); })
      .then(function (figure) {
        return Plotly.downloadImage(figure, {
          format: "png", filename: name, scale: 2, width: 900, height: figure.layout.height || 420
        });
      });
  }

  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    shell: {
      go: go,
      settled: function () {
        requestAnimationFrame(settled);
        return window.dash_clientside.no_update;
      },
      /* A click on a mark of a chart opens the calls behind it; its address travels with the mark. */
      follow: function (click) {
        var data = click && click.points && click.points[0] && click.points[0].customdata;
        var target = Array.isArray(data) ? data[0] : data;
        if (typeof target === "string" && target.charAt(0) === "/") {
          var url = new URL(target, window.location.origin);
          go(url.pathname, url.search);
        }
        return window.dash_clientside.no_update;
      }
    }
  });
})();
