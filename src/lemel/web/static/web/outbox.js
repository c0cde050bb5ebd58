/* Lines that are written where the connection may fail. Each is kept on this phone first, with an
   id and the hour of the touch, and sent in order; the server keeps one line an id. */
(function () {
  "use strict";
  var KEY = "lemel-outbox", REFUSED = "lemel-refused", RETRY_MS = 4000, LATE_MS = 60000;
  var sending = false, timer = null, cut = false;

  function read(key) {
    try { return JSON.parse(localStorage.getItem(key) || "[]"); } catch (fault) { return []; }
  }
  function write(key, lines) { localStorage.setItem(key, JSON.stringify(lines)); }
  function newId() {
    var bytes = new Uint8Array(16);
    crypto.getRandomValues(bytes);
    return Array.from(bytes, function (b) { return b.toString(16).padStart(2, "0"); }).join("");
  }
  function two(n) { return String(n).padStart(2, "0"); }
  function local(ms) {
    var d = new Date(ms);
    return d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()) + "T" +
      two(d.getHours()) + ":" + two(d.getMinutes());
  }
  function token() {
    var field = document.querySelector("input[name=csrfmiddlewaretoken]");
    return field ? field.value : "";
  }
  function tell(name, line) {
    document.dispatchEvent(new CustomEvent("lemel:" + name, { detail: line }));
  }

  function lineOf(form, submitter) {
    var pressed = Date.now(), data = new FormData(form), fields = [], id = newId();
    data.forEach(function (value, name) {
      if (typeof value === "string" && name !== "csrfmiddlewaretoken" && name !== "id") {
        fields.push([name, value]);
      }
    });
    if (submitter && submitter.name) { fields.push([submitter.name, submitter.value]); }
    fields.push(["id", id], ["pressed", String(pressed)], ["local", local(pressed)]);
    return {
      id: id, url: form.action, fields: fields, pressed: pressed, go: form.dataset.go || "",
      said: form.dataset.line + (submitter && submitter.name ? ": " + submitter.textContent : ""),
    };
  }

  function show() {
    var box = document.getElementById("outbox");
    if (!box) { return; }
    var waiting = read(KEY), refused = read(REFUSED);
    var list = document.getElementById("outbox-lines");
    list.textContent = "";
    waiting.concat(refused).forEach(function (line) {
      var item = document.createElement("li");
      item.textContent = local(line.pressed).slice(-5) + "  " + line.said +
        (line.refused ? ". Not taken: " + line.refused : "");
      if (line.refused) {
        var drop = document.createElement("button");
        drop.type = "button"; drop.className = "plain"; drop.textContent = "Read, take it away";
        drop.addEventListener("click", function () {
          write(REFUSED, read(REFUSED).filter(function (one) { return one.id !== line.id; }));
          show();
        });
        item.append(" ", drop);
      }
      list.append(item);
    });
    box.hidden = !refused.length && !(waiting.length && cut);
    document.getElementById("outbox-send").hidden = !waiting.length;
    document.getElementById("outbox-said").textContent = waiting.length
      ? waiting.length + (waiting.length === 1 ? " line" : " lines") + " kept here, not sent yet."
      : refused.length ? "Some lines were not taken:" : "";
  }

  function without(id) {
    write(KEY, read(KEY).filter(function (line) { return line.id !== id; }));
  }

  function send(line) {
    var body = new URLSearchParams(line.fields);
    if (Date.now() - line.pressed > LATE_MS) { body.append("happened", "yes"); }
    return fetch(line.url, {
      method: "POST", body: body, credentials: "same-origin", redirect: "error",
      headers: { "X-Line": "yes", "X-CSRFToken": token() },
    });
  }

  async function flush() {
    if (sending) { return; }
    sending = true;
    clearTimeout(timer);
    var gone = "";
    try {
      for (var line = read(KEY)[0]; line; line = read(KEY)[0]) {
        var answer = await send(line);
        if (answer.status === 422 || answer.status === 404) {
          var said = await answer.json().catch(function () { return { refused: [] }; });
          line.refused = (said.refused || []).join(" ") || "Open the page again.";
          write(REFUSED, read(REFUSED).concat([line]));
          without(line.id);
          tell("refused", line);
        } else if (answer.ok) {
          without(line.id);
          gone = line.go || gone;
          tell("sent", line);
        } else {
          throw new Error(String(answer.status));
        }
        cut = false;
      }
    } catch (fault) {
      cut = true;
      timer = setTimeout(flush, RETRY_MS);
    }
    sending = false;
    show();
    if (!read(KEY).length) {
      if (gone) { location.assign(gone); } else { tell("empty", null); }
    }
  }

  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (!form.classList || !form.classList.contains("kept-form")) { return; }
    var line = lineOf(form, event.submitter);
    try { write(KEY, read(KEY).concat([line])); } catch (fault) { return; }
    event.preventDefault();
    form.dispatchEvent(new CustomEvent("lemel:kept", { bubbles: true, detail: line }));
    show();
    flush();
  });
  window.addEventListener("online", flush);
  window.addEventListener("storage", show);
  document.addEventListener("DOMContentLoaded", function () {
    var button = document.getElementById("outbox-send");
    if (button) { button.addEventListener("click", flush); }
    if (read(KEY).length) { cut = true; }
    show();
    if (read(KEY).length) { flush(); }
  });
  window.lemelOutbox = { waiting: function () { return read(KEY); } };
})();
