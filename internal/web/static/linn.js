// The only script of our own. Every page works without it; it places decimal
// points, moves on with Enter, saves while one works and jumps along the stream.
(function () {
  "use strict";
  document.documentElement.classList.add("scripted");

  // place returns digits with the one decimal point that brings them within
  // the field's bounds; "" when the text has a point, comma or sign already,
  // when it fits as it stands, or when no or more than one place would fit.
  function place(text, low, high, decimals) {
    if (!/^[0-9]{2,6}$/.test(text)) return "";
    var whole = Number(text);
    if (whole >= low && whole <= high) return "";
    var found = "";
    for (var at = 1; at < text.length; at++) {
      if (text.length - at > decimals) continue;
      var guess = text.slice(0, at) + "." + text.slice(at);
      if (Number(guess) >= low && Number(guess) <= high) {
        if (found) return "";
        found = guess;
      }
    }
    return found;
  }

  function placed(input) {
    if (!input.dataset) return "";
    if (input.dataset.date !== undefined) {
      var d = /^([0-9]{4})([01][0-9])([0-3][0-9])$/.exec(input.value.trim());
      return d ? d[1] + "-" + d[2] + "-" + d[3] : "";
    }
    if (!input.dataset.decimals) return "";
    return place(input.value.trim(), Number(input.dataset.low), Number(input.dataset.high), Number(input.dataset.decimals));
  }

  // show writes the placed value beside the field while it is being typed.
  function show(input) {
    var out = input.dataset && input.dataset.placed && document.getElementById(input.dataset.placed);
    if (out) out.textContent = placed(input) ? "= " + placed(input) : "";
  }

  // settle puts the value that was shown into the field when it is left.
  function settle(input) {
    var value = placed(input);
    if (value) input.value = value;
    show(input);
  }

  var dirty = false, rest = null;

  function save(form) {
    clearTimeout(rest);
    if (!dirty || !form || !window.htmx) return;
    dirty = false;
    window.htmx.trigger(form, "linn-save");
  }

  document.addEventListener("input", function (e) {
    show(e.target);
    var form = e.target.closest && e.target.closest("form[data-keep]");
    if (!form) return;
    dirty = true;
    clearTimeout(rest);
    rest = setTimeout(function () { settle(e.target); save(form); }, 5000);
  });

  document.addEventListener("focusout", function (e) {
    if (!e.target.dataset) return;
    settle(e.target);
    var form = e.target.closest("form[data-keep]");
    var next = e.relatedTarget && e.relatedTarget.dataset ? e.relatedTarget.dataset.group : "";
    var sends = e.relatedTarget && e.relatedTarget.type === "submit" && e.relatedTarget.form === form;
    if (form && !sends && next !== e.target.dataset.group) save(form);
  });

  // A form that is being sent takes everything along by itself.
  document.addEventListener("submit", function (e) {
    if (!e.target.matches || !e.target.matches("form[data-keep]")) return;
    clearTimeout(rest);
    dirty = false;
  });

  // Enter moves to the next field; after the last one it reaches the button.
  document.addEventListener("keydown", function (e) {
    if (e.key !== "Enter" || e.isComposing || e.target.tagName !== "INPUT" && e.target.tagName !== "SELECT") return;
    var form = e.target.closest("form[data-enter]");
    if (!form) return;
    var list = Array.prototype.filter.call(form.querySelectorAll("input, select, button"), function (x) {
      return x.type !== "hidden" && !x.disabled && x.offsetParent !== null && (x.type !== "radio" || x.checked || x === e.target);
    });
    var next = list[list.indexOf(e.target) + 1];
    if (!next) return;
    e.preventDefault();
    moved = true;
    next.focus();
    if (next.select) next.select();
  });
  // The same press must not send the form from the field it led to.
  var moved = false;
  document.addEventListener("keypress", function (e) { if (moved && e.key === "Enter") e.preventDefault(); });
  document.addEventListener("keyup", function () { moved = false; });

  // Alt and a digit go to that stop of the stream, never out of a field.
  document.addEventListener("keydown", function (e) {
    if (!e.altKey || e.ctrlKey || e.metaKey || !/^Digit[0-9]$/.test(e.code)) return;
    if (e.target.closest && e.target.closest("input, select, textarea, [contenteditable]")) return;
    var stage = document.querySelectorAll(".stage")[(Number(e.code.slice(5)) + 9) % 10];
    if (!stage) return;
    e.preventDefault();
    stage.scrollIntoView();
    stage.querySelector("h2").focus({ preventScroll: true });
  });

  // A form waits for the save before it; it then speaks of the newest revision.
  document.addEventListener("htmx:before:request", function (e) {
    var body = e.detail.ctx.request.body;
    ["revision", "fellow"].forEach(function (name) {
      var now = document.getElementById(name);
      if (now && body && body.has && body.has(name)) body.set(name, now.value);
    });
  });

  function notSaved() {
    var saved = document.getElementById("saved");
    if (!saved) return;
    dirty = true;
    var says = document.createElement("b");
    says.className = "unsaved";
    says.textContent = saved.dataset.failed;
    saved.replaceChildren(says);
  }
  document.addEventListener("htmx:error", notSaved);
  document.addEventListener("htmx:response:error", function () { dirty = true; });

  // Somebody else saved first: send the form whole and show both versions.
  document.addEventListener("linn-conflict", function (e) {
    var form = e.target.closest && e.target.closest("form");
    if (form) HTMLFormElement.prototype.submit.call(form);
  });

  // Leaving the page takes along what was typed and not yet saved.
  window.addEventListener("pagehide", function () {
    var form = document.querySelector("form[data-keep]");
    if (!dirty || !form) return;
    var body = new URLSearchParams(new FormData(form));
    if (window.linnKeep) window.linnKeep.sending(form, body);
    fetch(form.action, { method: "POST", body: body, keepalive: true });
  });

  // A slider moves its number and the number its slider.
  document.addEventListener("input", function (e) {
    var at = e.target;
    if (at.dataset && at.dataset.moves) {
      document.getElementById(at.dataset.moves).value = at.value;
      return;
    }
    var slide = at.id && document.querySelector('[data-moves="' + CSS.escape(at.id) + '"]');
    if (slide && at.value !== "") slide.value = at.value.replace(",", ".");
  }, true);

  // A picture as PNG: the file is drawn on a canvas at twice its size.
  function png(url) {
    var img = new Image();
    img.onload = function () {
      var c = document.createElement("canvas");
      c.width = 2 * img.naturalWidth;
      c.height = 2 * img.naturalHeight;
      c.getContext("2d").drawImage(img, 0, 0, c.width, c.height);
      var a = document.createElement("a");
      a.href = c.toDataURL("image/png");
      a.download = "linn-" + (new URL(url, location.href).searchParams.get("figure") || "figure") + ".png";
      a.click();
    };
    img.src = url;
  }
  document.addEventListener("click", function (e) {
    var at = e.target.closest && e.target.closest("[data-png], [data-stop]");
    if (!at) return;
    if (at.dataset.png) png(at.dataset.png);
    else {
      window.htmx.trigger(at.closest(".progress"), "htmx:abort");
      at.closest(".progress").remove();
    }
  });

  document.addEventListener("click", function (e) {
    if (e.target.closest && e.target.closest("[data-print]")) window.print();
  });

  // A word is on the screen; the sound only calls for it. Browsers that play
  // nothing before a touch stay silent.
  var heard = document.querySelector("[data-sound]"), Sound = window.AudioContext;
  if (heard && Sound) {
    var box = new Sound(), stop = heard.dataset.sound === "stop";
    (stop ? [0, 0.35, 0.7] : [0]).forEach(function (at) {
      var tone = box.createOscillator();
      tone.type = stop ? "square" : "sine";
      tone.frequency.value = stop ? 220 : 880;
      tone.connect(box.destination);
      tone.start(box.currentTime + at);
      tone.stop(box.currentTime + at + 0.25);
    });
  }
})();
