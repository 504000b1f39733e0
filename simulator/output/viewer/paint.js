// What WebGL2 does: one shader, one field as a 3D texture, bodies as buffers of triangles.

const VERTEX = `#version 300 es
in vec3 place;
in float share;
uniform mat4 camera;
out vec3 where;
out float heat;
void main() {
  where = place;
  heat = share;
  gl_Position = camera * vec4(place, 1.0);
}`;

// The field holds (share of the scale where known, known or not), so that a mean over known cells
// can be had next to a wall: what is unknown has no weight.
const FRAGMENT = `#version 300 es
precision highp float;
precision highp sampler3D;
in vec3 where;
in float heat;
uniform sampler3D field;
uniform sampler2D palette;
uniform vec3 extent;
uniform vec3 unknown;
uniform vec4 colour;
uniform int source;  // 0 one colour, 1 the point's own temperature, 2 the field
uniform float shading;
out vec4 painted;
void main() {
  vec4 base = colour;
  if (source > 0) {
    float share = heat;
    bool known = heat > -50.0;
    if (source == 2) {
      vec2 here = texture(field, where / extent).rg;
      known = here.g > 0.02;
      share = here.r / max(here.g, 0.02);
    }
    if (!known && source == 2 && colour.a < 1.0) discard;
    vec3 tint = texture(palette, vec2(clamp(share, 0.0, 1.0) * 255.0 / 256.0 + 0.5 / 256.0, 0.5)).rgb;
    base = vec4(known ? tint : unknown, colour.a);
  }
  vec3 normal = normalize(cross(dFdx(where), dFdy(where)));
  float light = dot(abs(normal), vec3(0.80, 0.90, 1.0));
  painted = vec4(base.rgb * mix(1.0, light, shading), base.a);
}`;

export class Painter {
  constructor(canvas) {
    const gl = canvas.getContext("webgl2", { antialias: true, alpha: false });
    if (!gl) throw new Error("this browser cannot draw with WebGL2");
    this.gl = gl;
    this.program = linked(gl);
    this.uniform = {};
    for (const name of ["camera", "field", "palette", "extent", "unknown", "colour", "source", "shading"]) {
      this.uniform[name] = gl.getUniformLocation(this.program, name);
    }
    this.texture = { field: gl.createTexture(), palette: gl.createTexture() };
  }

  /** Begins a picture on `size` pixels. */
  begin(size, camera, table) {
    const { gl, uniform } = this;
    gl.viewport(0, 0, ...size);
    gl.clearColor(1, 1, 1, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.useProgram(this.program);
    gl.uniformMatrix4fv(uniform.camera, false, camera);
    gl.uniform3fv(uniform.extent, table.extent);
    gl.uniform3fv(uniform.unknown, table.scale.unknown.map((value) => value / 255));
    for (const [unit, name] of [[0, "field"], [1, "palette"]]) {
      gl.activeTexture(gl.TEXTURE0 + unit);
      gl.bindTexture(name === "field" ? gl.TEXTURE_3D : gl.TEXTURE_2D, this.texture[name]);
      gl.uniform1i(uniform[name], unit);
    }
  }

  /** Draws triangles or lines `from` … `to` (indices) of a body; see FRAGMENT for the options. */
  draw(body, { colour = [1, 1, 1, 1], source = 0, shading = 0, from = 0, to = body.count,
    isCulled = false, isOnTop = false, keepsDepth = true, isHidden = false, mode } = {}) {
    if (to <= from) return;
    const { gl, uniform } = this;
    (isCulled ? gl.enable : gl.disable).call(gl, gl.CULL_FACE);
    (isOnTop ? gl.disable : gl.enable).call(gl, gl.DEPTH_TEST);
    gl.depthMask(keepsDepth);
    gl.colorMask(!isHidden, !isHidden, !isHidden, !isHidden);
    gl.uniform4fv(uniform.colour, colour);
    gl.uniform1i(uniform.source, source);
    gl.uniform1f(uniform.shading, shading);
    gl.bindVertexArray(body.array);
    gl.drawElements(mode ?? gl.TRIANGLES, to - from, gl.UNSIGNED_INT, 4 * from);
    gl.depthMask(true);
    gl.colorMask(true, true, true, true);
  }

  /** A body of points [m] and indices; `shares` gives each point its own temperature. */
  body(places, indices, { hasShares = false } = {}) {
    const { gl } = this;
    const body = { array: gl.createVertexArray(), count: indices.length, buffers: [] };
    gl.bindVertexArray(body.array);
    this.#attribute(body, "place", places, 3);
    if (hasShares) this.#attribute(body, "share", new Float32Array(places.length / 3), 1);
    const buffer = gl.createBuffer();
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, indices, gl.STATIC_DRAW);
    body.buffers.push(buffer);
    gl.bindVertexArray(null);
    return body;
  }

  /** Gives the points of a body other temperatures (shares of the scale). */
  tint(body, shares) {
    const { gl } = this;
    gl.bindBuffer(gl.ARRAY_BUFFER, body.share);
    gl.bufferData(gl.ARRAY_BUFFER, shares, gl.DYNAMIC_DRAW);
  }

  drop(body) {
    if (!body) return;
    for (const buffer of body.buffers) this.gl.deleteBuffer(buffer);
    this.gl.deleteVertexArray(body.array);
  }

  /** Loads one frame of a field into the 3D texture. */
  fill(field, frame) {
    const { gl } = this;
    const codes = field.codes("field", frame);
    const pairs = new Float32Array(2 * codes.length);
    for (let n = 0; n < codes.length; n += 1) {
      if (codes[n] === 0) continue;
      pairs[2 * n] = field.share(codes[n]);
      pairs[2 * n + 1] = 1;
    }
    gl.bindTexture(gl.TEXTURE_3D, this.texture.field);
    gl.texImage3D(gl.TEXTURE_3D, 0, gl.RG16F, ...field.cells, 0, gl.RG, gl.FLOAT, pairs);
    smooth(gl, gl.TEXTURE_3D);
    gl.bindTexture(gl.TEXTURE_2D, this.texture.palette);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA8, 256, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, field.palette);
    smooth(gl, gl.TEXTURE_2D);
  }

  dispose() {
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }

  #attribute(body, name, values, size) {
    const { gl } = this;
    const at = gl.getAttribLocation(this.program, name);
    const buffer = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(at);
    gl.vertexAttribPointer(at, size, gl.FLOAT, false, 0, 0);
    body.buffers.push(buffer);
    body[name] = buffer;
  }
}

function linked(gl) {
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) {
      throw new Error(gl.getShaderInfoLog(shader));
    }
    gl.attachShader(program, shader);
  }
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) {
    throw new Error(gl.getProgramInfoLog(program));
  }
  return program;
}

function smooth(gl, target) {
  gl.texParameteri(target, gl.TEXTURE_MIN_FILTER, gl.LINEAR);
  gl.texParameteri(target, gl.TEXTURE_MAG_FILTER, gl.LINEAR);
  for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T, gl.TEXTURE_WRAP_R]) {
    gl.texParameteri(target, side, gl.CLAMP_TO_EDGE);
  }
}
