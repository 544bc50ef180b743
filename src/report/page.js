(function () {
  "use strict";
  // Meters along the way in a second: a brisk walk, twice as fast as life.
  var SPEED = 3;
  // Without motion: one stop a second, this far apart.
  var STOP = 2;
  // Milliseconds it stands to turn its wheels where the direction changes.
  var DWELL = 1500;
  var calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  var stopOther = null;
  document.documentElement.classList.add("live");

  function text(node, words) { if (node && node.textContent !== words) { node.textContent = words; } }

  function start(player) {
    var played = player.parentNode;
    var data = JSON.parse(player.querySelector(".poses").textContent);
    var poses = data.poses, last = poses.length - 1;
    var slider = player.querySelector("input"), play = player.querySelector(".play");
    var said = player.querySelector(".said"), hitches = player.querySelectorAll(".hitch");
    var units = played.querySelectorAll(".moving .unit"), gap = played.querySelector(".moving .gap");
    var steered = played.querySelectorAll(".moving .steered");
    var timer = 0, at = 0, before = 0, stood = 0;
    // The index of the first of two poses at the same place, with the wheels turned from one to the other; those passed.
    var stops = poses.map(function (p, i) { return i; }).filter(function (i) {
      return i < last && poses[i + 1].station_m - poses[i].station_m < 1e-6;
    }), passed = 0;

    // The vehicle where it is a part `f` of the way from one pose to the next; the numbers are those of the first.
    function draw(index, f) {
      var here = poses[index], next = poses[Math.min(index + 1, last)];
      function between(a, b) { return a + (b - a) * f; }
      units.forEach(function (unit, u) {
        var x = between(here.at[3 * u], next.at[3 * u]), y = between(here.at[3 * u + 1], next.at[3 * u + 1]);
        var turn = between(here.at[3 * u + 2], next.at[3 * u + 2]);
        unit.setAttribute("transform", "translate(" + x + " " + y + ") rotate(" + turn + ")");
      });
      var wheel = between(here.steer_deg, next.steer_deg);
      steered.forEach(function (node) { node.setAttribute("transform", "rotate(" + wheel + ")"); });
      // While it moves the gap is drawn between the two poses, as long as both are near the same thing.
      var g = here.gap, to = next.gap;
      if (g && to && Math.abs(g[2] - to[2]) + Math.abs(g[3] - to[3]) < 1) {
        g = g.map(function (v, i) { return between(v, to[i]); });
      } else if (f > 0) { g = null; }
      gap.setAttribute("d", g ? "M" + g[0] + " " + g[1] + "L" + g[2] + " " + g[3] : "");
      text(player.querySelector(".way"), here.words.way);
      text(player.querySelector(".steer"), here.words.steer);
      text(player.querySelector(".nearest"), here.words.gap);
      hitches.forEach(function (node, i) { text(node, here.words.hitch[i]); });
      slider.value = index;
      slider.setAttribute("aria-valuetext", here.words.way + "; nearest " + here.words.gap);
    }
    function sentence() {
      var w = poses[+slider.value].words;
      return "Driven: " + w.way + ". Front wheels " + w.steer + ". Nearest: " + w.gap + ".";
    }
    function stop(speak) {
      if (!timer) { return; }
      window.cancelAnimationFrame(timer);
      window.clearTimeout(timer);
      timer = 0;
      stopOther = null;
      text(play, "Play");
      draw(+slider.value, 0);
      if (speak) { text(said, sentence()); }
    }
    function indexAt(station) {
      var i = 0;
      while (i < last && poses[i + 1].station_m <= station) { i += 1; }
      return i;
    }
    function frame(now) {
      var passing = Math.min(now - before, 100);
      before = now;
      var stop_at = stops[passed];
      if (passed < stops.length && at >= poses[stop_at].station_m && stood < DWELL) {
        stood += passing;
        draw(stop_at, Math.min(stood / DWELL, 1));
        text(player.querySelector(".way"), poses[stop_at].words.way + " \u2013 stop, turn the wheels");
        if (stood >= DWELL) { passed += 1; stood = 0; at = poses[stop_at + 1].station_m + 1e-9; }
        timer = window.requestAnimationFrame(frame);
        return;
      }
      at += passing / 1000 * SPEED;
      if (passed < stops.length && at >= poses[stop_at].station_m) { at = poses[stop_at].station_m; }
      var i = indexAt(at);
      if (passed < stops.length && i > stop_at) { i = stop_at; }
      if (i >= last) { draw(last, 0); stop(true); return; }
      var span = poses[i + 1].station_m - poses[i].station_m;
      draw(i, span > 0 ? (at - poses[i].station_m) / span : 0);
      timer = window.requestAnimationFrame(frame);
    }
    function step() {
      at += STOP;
      var i = indexAt(at);
      draw(i, 0);
      if (i >= last) { stop(true); return; }
      timer = window.setTimeout(step, 1000);
    }
    function go() {
      if (stopOther) { stopOther(); }
      if (+slider.value >= last) { draw(0, 0); }
      at = poses[+slider.value].station_m;
      stood = 0;
      passed = stops.filter(function (i) { return i < +slider.value; }).length;
      text(said, "");
      text(play, "Pause");
      stopOther = function () { stop(false); };
      before = window.performance.now();
      timer = calm.matches ? window.setTimeout(step, 1000) : window.requestAnimationFrame(frame);
    }
    play.addEventListener("click", function () { if (timer) { stop(true); } else { go(); } });
    slider.addEventListener("input", function () {
      var to = +slider.value;
      stop(false);
      draw(to, 0);
    });
    player.querySelector(".tightest").addEventListener("click", function () {
      stop(false);
      draw(data.tight, 0);
      text(said, sentence());
    });
    window.addEventListener("beforeprint", function () { stop(false); });
    player.hidden = false;
    // Shown in the gate where it matters most, rather than out on the road.
    draw(data.tight, 0);
  }
  // A link leads to a way in that may be folded away.
  function unfold() {
    var id = decodeURIComponent(window.location.hash.slice(1)), node = id && document.getElementById(id);
    var folded = node && node.closest("details");
    if (folded && !folded.open) { folded.open = true; node.scrollIntoView(); }
  }
  window.addEventListener("hashchange", unfold);
  document.querySelectorAll(".player").forEach(start);
  unfold();
}());
