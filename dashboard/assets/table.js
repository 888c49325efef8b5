/* A plain HTML table drawn from a list of rows in one go: several hundred cells as single Dash components take the
   browser about a second, this takes a few milliseconds. Text is only ever set as text, never as HTML. */
(function () {
  "use strict";
  var element = React.createElement;

  function percentOf(value, scale) {
    return Math.max(0, Math.min(100, (100 * value) / scale)) + "%";
  }

  function intervalMark(cell, column) {
    var scale = column.scale || 1;
    var parts = [];
    if (column.reference !== undefined && column.reference !== null) {
      parts.push(element("span", { key: "r", className: "mark-reference", style: { left: percentOf(column.reference, scale) } }));
    }
    if (cell.low !== undefined && cell.low !== null) {
      var left = percentOf(cell.low, scale);
      var width = "calc(" + percentOf(cell.high, scale) + " - " + left + ")";
      parts.push(element("span", { key: "l", className: "mark-line", style: { left: left, width: width } }));
    }
    if (cell.dot !== undefined && cell.dot !== null) {
      var kind = "mark-dot" + (cell.hollow ? " hollow" : "") + (cell.flagged ? " flagged" : "");
      parts.push(element("span", { key: "d", className: kind, style: { left: percentOf(cell.dot, scale) } }));
    }
    return element("span", { className: "mark", "aria-hidden": "true" }, parts);
  }

  function barMark(cell, column) {
    var style = { width: percentOf(cell.bar, column.scale || 1) };
    return element("span", { className: "mark", "aria-hidden": "true" }, element("span", { className: "mark-bar", style: style }));
  }

  function content(cell, column) {
    if (cell === null || cell === undefined) { return ""; }
    if (typeof cell !== "object") { return String(cell); }
    if (cell.bar !== undefined) { return barMark(cell, column); }
    if (cell.dot !== undefined || cell.low !== undefined) { return intervalMark(cell, column); }
    var inner = cell.href ? element("a", { href: cell.href, "aria-label": cell.spoken }, cell.text) : cell.text;
    return cell.note ? [element("span", { key: "t" }, inner), element("small", { key: "n" }, cell.note)] : inner;
  }

  function heading(column, index) {
    var label = column.ends
      ? [element("span", { key: "s", className: "hidden" }, column.label),
         element("span", { key: "e", className: "mark-ends", "aria-hidden": "true" },
           element("span", null, column.ends[0]), element("span", null, column.ends[1]))]
      : column.label;
    var inner = column.href ? element("a", { href: column.href }, label) : label;
    var sorted = column.sorted || undefined;
    return element("th", { key: index, scope: "col", role: "columnheader", className: column.kind, "aria-sort": sorted }, inner);
  }

  function line(cells, columns, index, rowKind) {
    return element("tr", { key: index, role: "row", className: rowKind }, cells.map(function (cell, at) {
      var column = columns[at];
      var first = at === 0;
      return element(first ? "th" : "td", {
        key: at,
        scope: first ? "row" : undefined,
        role: first ? "rowheader" : "cell",
        className: column.kind + (cell === "" || cell === null ? " empty" : ""),
        "data-label": column.label
      }, content(cell, column));
    }));
  }

  function Table(props) {
    var head = element("thead", { role: "rowgroup" }, element("tr", { role: "row" }, props.columns.map(heading)));
    var rows = props.rows.map(function (cells, index) { return line(cells, props.columns, index, (props.row_kinds || [])[index]); });
    var table = element("table", { role: "table" },
      element("caption", { className: props.caption_shown ? undefined : "hidden" }, props.caption),
      head, element("tbody", { role: "rowgroup" }, rows));
    return element("div", {
      id: props.id, className: "table " + (props.layout || "wide"), role: "region", tabIndex: 0, "aria-label": props.caption
    }, table);
  }

  window.dashboard = Object.assign(window.dashboard || {}, { Table: Table });
})();
