// Keeps what was typed while the server is away, and covers a page that nobody
// touches. Pages work without it: then a form is simply sent again.
//
// What waits lies in this browser's storage under the signed-in person's own
// key, which the page carries and the storage does not: on a shared device it
// can be opened by that person alone, signed in here again. Each piece has a
// random key that the record stores with it, so that a piece that arrives
// twice is stored once.
(function () {
  "use strict";
  var root = document.documentElement;
  var bar = document.getElementById("unsent");
  var notTaken = document.getElementById("not-taken");
  var secret = root.dataset.outbox;

  function hex(bytes) {
    return Array.prototype.map.call(bytes, function (b) { return ("0" + b.toString(16)).slice(-2); }).join("");
  }
  function unhex(text) {
    return new Uint8Array(text.match(/../g).map(function (p) { return parseInt(p, 16); }));
  }
  function fresh() { return hex(crypto.getRandomValues(new Uint8Array(16))); }

  if (secret && bar && window.crypto && crypto.subtle && window.localStorage) outbox();
  if (root.dataset.lock && document.getElementById("cover")) cover();

  function outbox() {
    var entries = [], slot = "", key = null, held = false;
    var work = open();

    // later runs steps one after the other; a broken one does not stop the rest.
    function later(step) {
      work = work.then(step).catch(function () { say(true); });
      return work;
    }

    function open() {
      return crypto.subtle.digest("SHA-256", unhex(secret)).then(function (sum) {
        slot = "linn-outbox-" + hex(new Uint8Array(sum).slice(0, 8)); // tells nothing of the key or the person
        return crypto.subtle.importKey("raw", unhex(secret), "AES-GCM", false, ["encrypt", "decrypt"]);
      }).then(function (k) { key = k; return load(); });
    }

    function load() {
      var stored;
      try { stored = JSON.parse(localStorage.getItem(slot) || "null"); } catch (e) { stored = null; }
      if (!stored) return null;
      return crypto.subtle.decrypt({ name: "AES-GCM", iv: unhex(stored.iv) }, key, unhex(stored.box)).then(function (plain) {
        entries = JSON.parse(new TextDecoder().decode(plain));
      });
    }

    function store() {
      say(false);
      if (entries.length === 0) { localStorage.removeItem(slot); return null; }
      var iv = crypto.getRandomValues(new Uint8Array(12));
      return crypto.subtle.encrypt({ name: "AES-GCM", iv: iv }, key, new TextEncoder().encode(JSON.stringify(entries))).then(function (box) {
        localStorage.setItem(slot, JSON.stringify({ iv: hex(iv), box: hex(new Uint8Array(box)) }));
      });
    }

    function say(broken) {
      var waiting = entries.filter(function (e) { return e.failed && !e.refused; }).length;
      var refused = entries.filter(function (e) { return e.refused; });
      var text = "";
      if (broken) text = bar.dataset.away;
      else if (refused.length) text = bar.dataset.refused;
      else if (waiting === 1) text = bar.dataset.single;
      else if (waiting > 1) text = bar.dataset.many.replace("{n}", waiting);
      bar.querySelector("span").textContent = text;
      bar.hidden = !text;
      var saved = document.getElementById("saved");
      if (saved && waiting) { // where the eye is, the bar may be out of sight
        var mark = document.createElement("b");
        mark.className = "unsaved";
        mark.textContent = bar.dataset.kept;
        saved.replaceChildren(mark);
      }
      notTaken.hidden = refused.length === 0;
      if (refused.length) notTaken.querySelector("pre").textContent = lines(refused[0].body);
    }

    // lines are the typed fields of a piece, one a line.
    function lines(body) {
      var list = [];
      new URLSearchParams(body).forEach(function (value, name) {
        if (value && ["revision", "fellow", "once", "after"].indexOf(name) < 0) list.push(name + "  " + value);
      });
      return list.join("\n");
    }

    // state is what is known of a form's pieces: the key of the one being
    // typed, and of those that were sent without an answer.
    var states = new Map();
    function state(form) {
      if (!states.has(form)) states.set(form, { once: "", tried: [] });
      return states.get(form);
    }

    function put(form, body, once) {
      var action = new URL(form.action).pathname, snapshot = body.toString();
      later(function () {
        var old = entries.findIndex(function (e) { return e.action === action && !e.refused; });
        var entry = { action: action, body: snapshot, once: once, at: Date.now(), failed: old >= 0 && entries[old].failed };
        if (old >= 0) entries[old] = entry; else entries.push(entry);
        return store();
      });
    }

    function drop(once) {
      return later(function () {
        entries = entries.filter(function (e) { return e.once !== once; });
        return store();
      });
    }

    // sending gives a piece its keys and keeps it until its answer comes.
    function sending(form, body) {
      var s = state(form);
      if (!s.once) s.once = fresh();
      var once = s.once;
      body.set("once", once);
      if (s.tried.length) body.set("after", s.tried.join(","));
      put(form, new URLSearchParams(body), once);
      s.tried.push(once);
      s.once = "";
      return once;
    }
    window.linnKeep = { sending: sending };

    var rest = null;
    document.addEventListener("input", function (e) {
      var form = e.target.closest && e.target.closest("form[data-keep]");
      if (!form) return;
      clearTimeout(rest);
      rest = setTimeout(function () {
        var s = state(form), body = new URLSearchParams(new FormData(form));
        if (!s.once) s.once = fresh();
        body.set("once", s.once);
        if (s.tried.length) body.set("after", s.tried.join(","));
        put(form, body, s.once);
      }, 400);
    });

    var underway = new Map(); // request → key of its piece
    document.addEventListener("htmx:before:request", function (e) {
      var form = e.target.closest && e.target.closest("form[data-keep]");
      var body = e.detail.ctx.request.body;
      if (!form || !body || !body.set) return;
      clearTimeout(rest);
      underway.set(e.detail.ctx, { form: form, once: sending(form, body) });
    });
    document.addEventListener("htmx:after:request", function (e) {
      var piece = underway.get(e.detail.ctx), answer = e.detail.ctx.response;
      if (!piece || !answer || answer.status >= 500 || answer.status === 423) return;
      if (answer.headers.get("HX-Redirect")) return; // signed out meanwhile
      underway.delete(e.detail.ctx);
      state(piece.form).tried = [];
      drop(piece.once);
    });
    document.addEventListener("htmx:finally:request", function (e) {
      var piece = underway.get(e.detail.ctx);
      if (!piece) return;
      underway.delete(e.detail.ctx);
      later(function () {
        entries.forEach(function (x) { if (x.once === piece.once) x.failed = true; });
        return store();
      });
      setTimeout(function () { again(piece.form); }, 4000);
    });

    // again sends a form of this page anew, as it stands now.
    function again(form) {
      if (document.contains(form) && window.htmx && !held) window.htmx.trigger(form, "linn-save");
    }

    // flush sends, in order, what an earlier page could not.
    function flush() {
      later(function () {
        var here = Array.prototype.map.call(document.querySelectorAll("form[data-keep]"), function (f) { return states.has(f) ? new URL(f.action).pathname : ""; });
        var list = entries.filter(function (e) { return !e.refused && here.indexOf(e.action) < 0; });
        return list.reduce(function (before, e) {
          return before.then(function (go) { return go ? send(e) : false; });
        }, Promise.resolve(true));
      });
    }

    function send(e) {
      return fetch(e.action, { method: "POST", headers: { "HX-Request": "true" }, body: new URLSearchParams(e.body) }).then(function (r) {
        if (r.headers.get("HX-Redirect") || r.status === 423 || r.status >= 500) { e.failed = true; return store(), false; }
        if (r.status >= 400 || r.headers.get("HX-Trigger") === "linn-conflict") {
          e.refused = true;
          return Promise.resolve(store()).then(function () { return true; });
        }
        entries = entries.filter(function (x) { return x !== e; });
        return Promise.resolve(store()).then(function () {
          if (location.pathname === e.action.replace(/\/[^/]*$/, "")) location.reload(); // the page is older than what was just stored
          return true;
        });
      }, function () { e.failed = true; return store(), false; });
    }

    notTaken.addEventListener("click", function (e) {
      var what = e.target.dataset && e.target.dataset.outbox;
      var entry = entries.filter(function (x) { return x.refused; })[0];
      if (!what || !entry) return;
      if (what === "drop") { drop(entry.once); return; }
      var form = document.createElement("form");
      form.method = "post";
      form.action = entry.action;
      new URLSearchParams(entry.body).forEach(function (value, name) {
        var field = document.createElement("input");
        field.type = "hidden";
        field.name = name;
        field.value = value;
        form.appendChild(field);
      });
      document.body.appendChild(form);
      form.submit();
    });

    // Signing out with something unsent is asked once more.
    var warned = false;
    Array.prototype.forEach.call(document.querySelectorAll("form.sign-out"), function (form) {
      form.addEventListener("submit", function (e) {
        if (warned || entries.length === 0) return;
        e.preventDefault();
        warned = true;
        bar.querySelector("span").textContent = bar.dataset.leave;
        bar.hidden = false;
      });
    });

    document.addEventListener("linn-covered", function (e) { held = e.detail; if (!held) flush(); });
    window.addEventListener("online", flush);
    setInterval(flush, 15000);
    later(function () { say(false); });
    flush();
  }

  // cover hides the page after a while without a touch, but not whose eye it
  // is, and asks for the short number or the password.
  function cover() {
    var after = Number(root.dataset.lock) * 1000, touched = Date.now(), told = Date.now(), covered = false;
    var box = document.getElementById("cover"), field = document.getElementById("cover-secret"), says = document.getElementById("cover-says");

    function show() {
      covered = true;
      root.classList.add("covered");
      says.textContent = "";
      box.showModal();
      field.focus();
      document.dispatchEvent(new CustomEvent("linn-covered", { detail: true }));
    }
    function hide() {
      covered = false;
      touched = Date.now();
      root.classList.remove("covered");
      box.close();
      document.dispatchEvent(new CustomEvent("linn-covered", { detail: false }));
    }
    function post(path, body) {
      return fetch(path, { method: "POST", headers: { "HX-Request": "true" }, body: body || new URLSearchParams() });
    }

    ["keydown", "pointerdown", "pointermove", "touchstart", "wheel"].forEach(function (kind) {
      document.addEventListener(kind, function () { if (!covered) touched = Date.now(); }, { passive: true });
    });
    setInterval(function () {
      if (covered) return;
      if (Date.now() - touched > after) {
        show();
        post("/lock").catch(function () {}); // the server covers the session by itself too
      } else if (touched > told && Date.now() - told > after / 4) {
        told = Date.now();
        post("/here").catch(function () {});
      }
    }, 1000);
    document.addEventListener("linn-locked", function () { if (!covered) show(); });
    document.addEventListener("submit", function (e) {
      if (!e.target.matches("form.lock-now")) return;
      e.preventDefault();
      post("/lock").then(show, show);
    });
    box.addEventListener("cancel", function (e) { e.preventDefault(); });
    box.querySelector("form[method=dialog]").addEventListener("submit", function (e) {
      e.preventDefault();
      post("/unlock", new URLSearchParams({ secret: field.value })).then(function (r) {
        field.value = "";
        if (r.headers.get("HX-Redirect") && r.headers.get("HX-Redirect").indexOf("/ward") < 0) { location.reload(); return; }
        if (r.ok) { hide(); return; }
        return r.text().then(function (text) { says.textContent = text; field.focus(); });
      }, function () { says.textContent = bar ? bar.dataset.away : ""; });
    });
  }
})();
