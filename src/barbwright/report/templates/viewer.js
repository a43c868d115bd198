(function () {
  "use strict";
  var box = document.getElementById("viewer");
  var sorry = function (why) { box.classList.add("off"); document.getElementById("viewer-note").textContent = why; };
  var renderer;
  try {
    renderer = new THREE.WebGLRenderer({ antialias: true, alpha: true, preserveDrawingBuffer: true });
  } catch (error) {
    sorry("This browser cannot show the part in 3D; see the picture below.");
    return;
  }
  var data = JSON.parse(document.getElementById("geometry").textContent);
  var unpack = function (text, Kind) {
    var raw = atob(text), bytes = new Uint8Array(raw.length);
    for (var i = 0; i < raw.length; i += 1) { bytes[i] = raw.charCodeAt(i); }
    return new Kind(bytes.buffer);
  };
  var Index = data.wide ? Uint32Array : Uint16Array;
  var fine = unpack(data.points, Uint16Array), places = new Float32Array(fine.length);
  for (var i = 0; i < fine.length; i += 1) { places[i] = data.low[i % 3] + fine[i] * data.step[i % 3]; }
  var points = new THREE.BufferAttribute(places, 3);
  var solid = new THREE.BufferGeometry();
  solid.setAttribute("position", points);
  solid.setAttribute("normal", new THREE.BufferAttribute(unpack(data.normals, Int8Array), 3, true));
  solid.setIndex(new THREE.BufferAttribute(unpack(data.triangles, Index), 1));
  solid.computeBoundingSphere();
  var lines = new THREE.BufferGeometry();
  lines.setAttribute("position", points);
  lines.setIndex(new THREE.BufferAttribute(unpack(data.edges, Index), 1));

  var cut = new THREE.Plane(new THREE.Vector3(0, 1, 0), 0);
  var skin = new THREE.MeshPhongMaterial({ color: 0x7f9db2, specular: 0x222222, shininess: 25,
    polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
  // Behind an open cut one sees the inside of the skin: painted flat, it closes the cut.
  // Lines are left out then, or those of the far side would show through it.
  var inside = new THREE.MeshBasicMaterial({ color: 0xe8943c, side: THREE.BackSide });
  var edge = new THREE.LineBasicMaterial({ color: 0x1a242e });
  var part = new THREE.Group();
  var lining = new THREE.Mesh(solid, inside);
  var lineWork = new THREE.LineSegments(lines, edge);
  lining.visible = false;
  part.add(new THREE.Mesh(solid, skin), lining, lineWork);
  var scene = new THREE.Scene(), middle = solid.boundingSphere.center, reach = solid.boundingSphere.radius;
  scene.add(part, new THREE.AmbientLight(0xffffff, 0.55));
  var lamp = new THREE.DirectionalLight(0xffffff, 0.65);
  scene.add(lamp);
  var camera = new THREE.PerspectiveCamera(24, 1, reach / 20, reach * 40);
  box.insertBefore(renderer.domElement, box.firstChild);
  renderer.domElement.setAttribute("aria-hidden", "true");
  renderer.localClippingEnabled = true;
  var controls = new THREE.TrackballControls(camera, renderer.domElement);
  controls.rotateSpeed = 2.5;
  controls.noPan = true;
  controls.staticMoving = true;
  controls.minDistance = reach * 1.2;
  controls.maxDistance = reach * 15;

  var draw = function () {
    lamp.position.copy(camera.position).add(new THREE.Vector3(-0.5 * reach, 0, 2.5 * reach));
    renderer.render(scene, camera);
  };
  var home = function () {
    var away = Math.max(1, 1 / camera.aspect) * reach / Math.sin(Math.PI * 24 / 360);
    controls.target.copy(middle);
    camera.up.set(0, 0, 1);
    camera.position.copy(middle).add(new THREE.Vector3(0.6, -1, 0.82).setLength(away));
    camera.lookAt(middle);
    controls.update();
    draw();
  };
  var fit = function () {
    var wide = box.clientWidth, tall = box.clientHeight;
    renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    renderer.setSize(wide, tall, false);
    camera.aspect = wide / tall;
    camera.updateProjectionMatrix();
    controls.handleResize();
    draw();
  };
  var turn = function (sideways, upward) {
    var arm = camera.position.clone().sub(controls.target);
    var across = new THREE.Vector3().crossVectors(camera.up, arm).normalize();
    var spin = new THREE.Quaternion().setFromAxisAngle(camera.up.clone().normalize(), sideways)
      .multiply(new THREE.Quaternion().setFromAxisAngle(across, upward));
    arm.applyQuaternion(spin);
    camera.up.applyQuaternion(spin);
    camera.position.copy(controls.target).add(arm);
    camera.lookAt(controls.target);
    draw();
  };
  var nearer = function (by) {
    var arm = camera.position.clone().sub(controls.target).multiplyScalar(by);
    arm.clampLength(controls.minDistance, controls.maxDistance);
    camera.position.copy(controls.target).add(arm);
    draw();
  };
  var open = document.getElementById("cut-open");
  var slice = function () {
    var planes = open.checked ? [cut] : [];
    lining.visible = open.checked;
    lineWork.visible = !open.checked;
    skin.clippingPlanes = planes; inside.clippingPlanes = planes;
    draw();
  };

  // Which size stands where a ray meets the part: of all its places the nearest that faces the
  // same way. Behind an open cut the section itself belongs to no size.
  var told = document.getElementById("viewer-size"), hint = told.innerHTML, named = -1;
  var ray = new THREE.Raycaster(), ring = new THREE.LineLoop(new THREE.BufferGeometry(),
    new THREE.LineBasicMaterial({ color: 0xc2185b, depthTest: false }));
  ring.visible = false;
  scene.add(ring);
  var off = function (place, p, n) {
    var axis = place[2], side = place[8], away, r;
    if (place[1] === 1) {
      r = Math.hypot(p[0], p[1], p[2]);
      away = (n[0] * p[0] + n[1] * p[1] + n[2] * p[2]) / r * side;
      return away > 0.9 ? Math.abs(r - place[4]) : 9;
    }
    if (place[1] === 2) { return Math.abs(n[axis]) > 0.9 ? Math.abs(p[axis] - place[3]) : 9; }
    // A flat counts by its distance from the axis, as a round does: its normal leads there.
    var across = 0, far = 0, steep = 0;
    for (var i = 0; i < 3; i += 1) {
      if (i === axis) { continue; }
      r = p[i] - place[5 + i];
      across += r * n[i]; far += r * r; steep += n[i] * n[i];
    }
    across = across / Math.sqrt(steep) * (side || (across < 0 ? -1 : 1));
    if (steep < 0.25 || across < 0.86 * Math.sqrt(far)) { return 9; }
    return Math.abs(across - place[4]) + 0.03 * Math.abs(p[axis] - place[3]);
  };
  var tell = function (size, place) {
    named = size;
    var one = data.sizes[size];
    if (one) { told.textContent = one[0].charAt(0).toUpperCase() + one[0].slice(1) + ": " + one[1] + (one[2] ? ". Hangs on it most: " + one[2] : "") + "."; }
    else { told.innerHTML = hint; }
    ring.visible = Boolean(place) && place[1] < 2;
    if (ring.visible) {
      var spots = [];
      for (var i = 0; i < 64; i += 1) {
        var spot = [place[5], place[6], place[7]], turn = i * Math.PI / 32;
        var axis = place[1] === 1 ? 2 : place[2];
        spot[axis] = place[1] === 1 ? 0 : place[3];
        spot[(axis + 1) % 3] += place[4] * Math.cos(turn);
        spot[(axis + 2) % 3] += place[4] * Math.sin(turn);
        spots.push(spot[0], spot[1], spot[2]);
      }
      ring.geometry.setAttribute("position", new THREE.Float32BufferAttribute(spots, 3));
    }
    draw();
  };
  var point = function (event) {
    if (event.type === "pointermove" && event.buttons) { return; }
    var frame = renderer.domElement.getBoundingClientRect();
    ray.setFromCamera(new THREE.Vector2((event.clientX - frame.left) / frame.width * 2 - 1,
      1 - (event.clientY - frame.top) / frame.height * 2), camera);
    var hit = ray.intersectObjects(part.children.slice(0, open.checked ? 2 : 1)).find(function (one) {
      return !open.checked || one.point.y >= 0; });
    var best = null, least = 0.6;
    if (hit && hit.object !== lining) {
      var p = hit.point.toArray(), n = hit.face.normal.toArray();
      data.places.forEach(function (place) {
        var here = off(place, p, n);
        if (here < least - 0.001) { least = here; best = place; }
      });
      told.dataset.at = p.map(function (x) { return x.toFixed(2); }).join(" ");
    }
    if (best || named >= 0) { tell(best ? best[0] : -1, best); }
  };
  var step = function (by) {
    var count = data.sizes.length, size = named < 0 && by < 0 ? count - 1 : (named + by + count) % count;
    tell(size, data.places.find(function (place) { return place[0] === size && place[1] < 2; }));
  };
  renderer.domElement.addEventListener("pointermove", point);
  renderer.domElement.addEventListener("pointerdown", point);
  renderer.domElement.addEventListener("pointerleave", function () { if (named >= 0) { tell(-1); } });
  var keys = {
    n: function () { step(1); }, p: function () { step(-1); },
    ArrowLeft: function () { turn(-0.12, 0); }, ArrowRight: function () { turn(0.12, 0); },
    ArrowUp: function () { turn(0, -0.12); }, ArrowDown: function () { turn(0, 0.12); },
    "+": function () { nearer(0.9); }, "=": function () { nearer(0.9); }, "-": function () { nearer(1.1); },
    Home: home, c: function () { open.checked = !open.checked; slice(); }
  };
  box.addEventListener("keydown", function (event) {
    if (keys[event.key] && !event.ctrlKey && !event.altKey && !event.metaKey) {
      event.preventDefault();
      keys[event.key]();
    }
  });
  open.addEventListener("change", slice);
  document.getElementById("view-home").addEventListener("click", home);
  controls.addEventListener("change", draw);
  window.addEventListener("resize", fit);
  (function follow() { requestAnimationFrame(follow); controls.update(); }());
  fit();
  home();
  box.classList.add("on");
}());
