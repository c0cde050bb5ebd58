/* At the fire: which instruction is due, the bell, the count of the pour, the log that grows. */
(function () {
  "use strict";
  var SVG = "http://www.w3.org/2000/svg", LEAD_S = 5, POLL_MS = 5000, COLD_C = 525;
  var sound = null;

  function beep(seconds, hertz) {
    if (!sound) { return; }
    var tone = sound.createOscillator(), gain = sound.createGain();
    tone.frequency.value = hertz;
    gain.gain.setValueAtTime(0.4, sound.currentTime);
    gain.gain.exponentialRampToValueAtTime(0.001, sound.currentTime + seconds);
    tone.connect(gain).connect(sound.destination);
    tone.start();
    tone.stop(sound.currentTime + seconds);
  }
  function wake() {
    var Context = window.AudioContext || window.webkitAudioContext;
    if (!sound && Context) { sound = new Context(); }
    if (sound && sound.state === "suspended") { sound.resume(); }
  }
  function span(s) {
    var minutes = Math.floor(s / 60);
    return minutes + ":" + String(Math.floor(s % 60)).padStart(2, "0");
  }

  /* The bags: another weight than the book's is asked about before it is written. */
  function bags() {
    document.querySelectorAll(".bag-form").forEach(function (form) {
      form.addEventListener("submit", function (event) {
        var field = form.querySelector("[name^=before_g]");
        var weighed = Number(field.value.replace(",", "."));
        var off = Math.abs(weighed - Number(form.dataset.says)) > Number(form.dataset.limit);
        if (off && !form.querySelector("[name=answer]").checked) {
          event.preventDefault();
          event.stopPropagation();
          form.querySelector(".ask").hidden = false;
          field.focus();
        }
      });
      form.addEventListener("lemel:kept", function () {
        var bag = form.closest(".bag"), next = bag.nextElementSibling;
        bag.classList.add("weighed");
        bag.querySelector(".weighed-said").hidden = false;
        form.querySelector(".ask").hidden = true;
        var field = (next || document.getElementById("charged-form")).querySelector("[name^=before_g], button");
        if (field) { field.focus(); }
      });
    });
  }

  function Run(root) {
    var steps = Array.from(root.querySelectorAll(".step"));
    var done = {}, lit = Number(root.dataset.lit) || 0, rung = {}, counting = null, asking = false;

    steps.forEach(function (step) {
      if (step.classList.contains("is-done")) { done[step.dataset.key] = [0, ""]; }
      if (step.dataset.kind === "pour") { pour(step); }
    });

    function fieldsOf(line) { return Object.fromEntries(line.fields); }
    function mine(line) { return line.url.indexOf("/" + root.dataset.heat + "/") > 0; }

    /* What the server knows, and what is still kept here. */
    function withKept(known) {
      var found = Object.assign({}, known);
      window.lemelOutbox.waiting().filter(mine).forEach(function (line) {
        var said = fieldsOf(line);
        if (said.what === "step") {
          found[said.step] = [line.pressed, line.id];
        } else if (said.what === "undo") {
          Object.keys(found).forEach(function (key) {
            if (found[key][1] === said.of) { delete found[key]; }
          });
        }
      });
      return found;
    }

    function lay() {
      var now = withKept(done), place = 0;
      steps.forEach(function (step) {
        var is = now[step.dataset.key] ? "is-done" : ["is-now", "is-next"][place++] || "is-later";
        if (!step.classList.contains(is)) {
          step.classList.remove("is-done", "is-now", "is-next", "is-later");
          step.classList.add(is);
        }
        if (step.dataset.kind === "light") {
          lit = now[step.dataset.key] ? now[step.dataset.key][0] || Number(root.dataset.lit) : 0;
        }
      });
      var count = Object.keys(now).length;
      root.querySelector("#tally").textContent = count ? count + " of " + steps.length + " done" : "";
      root.querySelector("#ended").hidden = count < steps.length;
    }

    /* How far behind the plan the last timed step was. */
    function lagMs() {
      var now = withKept(done), lag = 0;
      steps.forEach(function (step) {
        var at = Number(step.dataset.at), when = now[step.dataset.key];
        if (when && when[0] && at > 0) { lag = Math.max(0, when[0] - lit - at * 60000); }
      });
      return lag;
    }

    function tick() {
      var clock = root.querySelector("#clock");
      if (!lit) { clock.textContent = "not lit"; return; }
      var since = Date.now() - lit;
      clock.textContent = span(since / 1000) + " since light-up";
      var lag = lagMs();
      steps.forEach(function (step) {
        var due = step.querySelector(".due");
        if (!due || step.classList.contains("is-done") || !step.dataset.at) { return; }
        var left = Number(step.dataset.at) * 60000 + lag - since;
        due.textContent = left > 0 ? "in " + span(left / 1000) : "now";
        var calls = step.classList.contains("is-now") && step.dataset.bell && left <= 0;
        step.classList.toggle("ringing", Boolean(calls));
        if (calls && !rung[step.dataset.key]) {
          rung[step.dataset.key] = true;
          beep(0.5, 880); setTimeout(beep, 600, 0.9, 660);
        }
      });
    }

    /* One touch, then no more until it asks. */
    function pour(step) {
      var start = step.querySelector(".start"), asks = step.querySelector(".question");
      var count = step.querySelector(".count"), last = -1;
      start.hidden = false; asks.hidden = true;
      start.querySelector("button").addEventListener("click", function () {
        var began = Date.now();
        start.hidden = true; count.hidden = false;
        step.classList.add("pouring");
        counting = setInterval(function () {
          var s = (Date.now() - began) / 1000, window_s = Number(step.dataset.window);
          var left = Math.ceil(LEAD_S - s), whole = Math.floor(s);
          if (left > 0) {
            count.textContent = String(left);
            if (whole !== last) { beep(0.15, 660); }
          } else if (s < LEAD_S + window_s) {
            count.textContent = "Pour " + Math.ceil(LEAD_S + window_s - s);
            if (last < LEAD_S) { beep(0.8, 990); }
          } else if (s < LEAD_S + window_s + Number(step.dataset.freeze)) {
            count.textContent = "Leave it";
          } else {
            clearInterval(counting);
            count.hidden = true; asks.hidden = false;
            step.classList.remove("pouring");
            beep(0.4, 520);
          }
          last = whole;
        }, 200);
      });
    }

    /* Which line the last form takes back. */
    function takeBack(id) {
      root.querySelector("#undo-of").value = id;
      root.querySelector(".undo").hidden = !id;
    }
    function lastDone() {
      var now = withKept(done), last = [0, ""];
      Object.keys(now).forEach(function (key) { if (now[key][0] > last[0]) { last = now[key]; } });
      return last[1];
    }

    root.addEventListener("lemel:kept", function (event) {
      var said = fieldsOf(event.detail);
      takeBack(said.what === "undo" ? lastDone() : event.detail.id);
      if (said.what === "reading") {
        var item = document.createElement("li");
        item.textContent = said.celsius + " °C, kept here";
        root.querySelector("#readings").append(item);
        event.target.querySelector("[name=celsius]").value = "";
      }
      lay(); tick();
      var due = root.querySelector(".step.is-now button:not([hidden])");
      if (said.what === "step" && due) { due.focus({ preventScroll: true }); window.scrollTo(0, 0); }
    });

    function draw(curve) {
      var place = root.querySelector("#curve"), shown = curve.readings;
      var end = Math.max(curve.t_s[curve.t_s.length - 1], shown.length ? shown[shown.length - 1].t_s : 0);
      var top = 100 * Math.ceil(Math.max.apply(null, curve.furnace_c.concat(curve.bath_c)) / 100);
      var svg = document.createElementNS(SVG, "svg");
      svg.setAttribute("viewBox", "0 0 640 300"); svg.setAttribute("class", "plot");
      function x(t) { return 44 + 580 * t / end; }
      function y(c) { return 268 - 252 * c / top; }
      function put(name, facts, text) {
        var one = document.createElementNS(SVG, name);
        Object.keys(facts).forEach(function (key) { one.setAttribute(key, facts[key]); });
        if (text) { one.textContent = text; }
        svg.append(one);
      }
      function colour(c) {
        var found = "";
        curve.glow.forEach(function (one) { if (c >= one.c - 60 && c >= COLD_C) { found = one.colour; } });
        return found;
      }
      for (var c = 0; c <= top; c += 200) {
        put("path", { d: "M44 " + y(c) + "H624", "class": "grid" });
        put("text", { x: 38, y: y(c) + 4, "text-anchor": "end" }, String(c));
      }
      var step = end > 1800 ? 600 : 300;
      for (var t = 0; t <= end; t += step) {
        put("text", { x: x(t), y: 288, "text-anchor": "middle" }, t / 60 + (t ? "" : " min"));
      }
      if (!curve.torch) {
        put("path", { d: "M" + curve.t_s.map(function (t, n) { return x(t) + " " + y(curve.furnace_c[n]); }).join("L"), "class": "furnace" });
      }
      for (var n = 1; n < curve.t_s.length; n++) {
        var line = { d: "M" + x(curve.t_s[n - 1]) + " " + y(curve.bath_c[n - 1]) + "L" + x(curve.t_s[n]) + " " + y(curve.bath_c[n]), "class": "bath" };
        var hot = colour(curve.bath_c[n]);
        if (hot) { line.stroke = hot; }
        put("path", line);
      }
      put("path", { d: "M44 " + y(curve.liquidus_c) + "H624", "class": "liquidus" });
      put("text", { x: 48, y: y(curve.liquidus_c) - 4 }, "all liquid " + Math.round(curve.liquidus_c) + " °C");
      var since = lit ? (Date.now() - lit) / 1000 : -1;
      if (since >= 0 && since <= end) { put("path", { d: "M" + x(since) + " 16V268", "class": "at-now" }); }
      shown.forEach(function (one) {
        put("circle", { cx: x(one.t_s), cy: y(one.c), r: 5, "class": "read" });
        put("text", { x: x(one.t_s), y: y(one.c) - 9, "text-anchor": "middle" }, String(Math.round(one.c)));
      });
      if (curve.live) {
        var b = curve.live.bath_c;
        put("path", { d: "M" + x(curve.live.t_s) + " " + y(b[0]) + "V" + y(b[2]), "class": "smear" });
      }
      place.textContent = "";
      place.append(svg);
      place.setAttribute("aria-label", "The planned curve, pour after " + span(end) + ", and " + shown.length + " readings");
      live(curve.live);
    }

    function live(now) {
      var place = root.querySelector("#live");
      if (!now) { return; }
      var words = "The bath is at about " + Math.round(now.bath_c[1]) + " °C (" + now.word + "), between " +
        Math.round(now.bath_c[0]) + " and " + Math.round(now.bath_c[2]) + "; " + Math.round(100 * now.liquid) + " % liquid.";
      if (now.ready_s) { words += " To the pour " + span(now.ready_s[0]) + " to " + span(now.ready_s[2]) + "."; }
      var said = [words].concat(now.said).join(" ");
      if (place.textContent !== said) { place.textContent = said; }
    }

    function ask() {
      if (navigator.onLine === false || asking) { return; }
      asking = true;
      fetch(root.dataset.state, { credentials: "same-origin" }).then(function (answer) {
        return answer.ok ? answer.json() : null;
      }).then(function (found) {
        if (!found) { return; }
        done = found.done;
        if (!window.lemelOutbox.waiting().length) { takeBack(found.undo); }
        lay(); tick(); draw(found.curve);
      }).catch(function () {}).finally(function () { asking = false; });
    }

    document.addEventListener("lemel:sent", function (event) {
      if (fieldsOf(event.detail).what === "undo") { location.reload(); }
    });
    document.addEventListener("lemel:refused", function () { ask(); });
    document.addEventListener("lemel:empty", ask);
    lay(); ask();
    setInterval(tick, 500);
    setInterval(function () { if (lit && !document.hidden) { ask(); } }, POLL_MS);
  }

  document.addEventListener("pointerdown", wake);
  document.addEventListener("keydown", wake);
  document.addEventListener("DOMContentLoaded", function () {
    bags();
    var root = document.getElementById("run");
    if (root) { Run(root); }
  });
})();
