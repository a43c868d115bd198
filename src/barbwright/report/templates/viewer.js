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
  var keys = {
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
