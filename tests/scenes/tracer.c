/* Ray tracer for bar mats on a deck. One source for both: CUDA (each pixel a thread) and plain C (a loop over pixels).
   World in mm, z up, deck at z = 0. Lambert and glossy reflection under sun (a disc), sky and a lamp at the camera. */
#ifdef __CUDACC__
#define DEV __device__ static inline
#else
#include <math.h>
#define DEV static inline
#endif

#define STRIDE 24
#define MAT 20
#define FAR 1e9f

typedef struct { float x, y, z; } V;
DEV V v(float x, float y, float z) { V r; r.x = x; r.y = y; r.z = z; return r; }
DEV V at(const float *p) { return v(p[0], p[1], p[2]); }
DEV V add(V a, V b) { return v(a.x + b.x, a.y + b.y, a.z + b.z); }
DEV V sub(V a, V b) { return v(a.x - b.x, a.y - b.y, a.z - b.z); }
DEV V mul(V a, float s) { return v(a.x * s, a.y * s, a.z * s); }
DEV V had(V a, V b) { return v(a.x * b.x, a.y * b.y, a.z * b.z); }
DEV float dot(V a, V b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
DEV V cross(V a, V b) { return v(a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x); }
DEV V norm(V a) { return mul(a, 1.0f / sqrtf(dot(a, a) + 1e-20f)); }
DEV V mix(V a, V b, float t) { return add(mul(a, 1 - t), mul(b, t)); }
DEV float clampf(float x, float a, float b) { return x < a ? a : (x > b ? b : x); }
DEV float step01(float a, float b, float x) { float t = clampf((x - a) / (b - a), 0, 1); return t * t * (3 - 2 * t); }

DEV unsigned hash(unsigned x) { x ^= x >> 16; x *= 0x7feb352dU; x ^= x >> 15; x *= 0x846ca68bU; x ^= x >> 16; return x; }
DEV float rnd(unsigned *s) { *s = hash(*s + 0x9e3779b9U); return (float)(*s >> 8) * (1.0f / 16777216.0f); }
DEV float lattice(int x, int y, int z, unsigned seed) {
    return (float)(hash((unsigned)x * 73856093U ^ (unsigned)y * 19349663U ^ (unsigned)z * 83492791U ^ seed) >> 8) * (1.0f / 16777216.0f);
}
DEV float noise(V p, unsigned seed) {
    float fx = floorf(p.x), fy = floorf(p.y), fz = floorf(p.z);
    int x = (int)fx, y = (int)fy, z = (int)fz;
    float a = p.x - fx, b = p.y - fy, c = p.z - fz;
    a = a * a * (3 - 2 * a); b = b * b * (3 - 2 * b); c = c * c * (3 - 2 * c);
    float r = 0;
    for (int i = 0; i < 8; i++) {
        int dx = i & 1, dy = (i >> 1) & 1, dz = i >> 2;
        r += (dx ? a : 1 - a) * (dy ? b : 1 - b) * (dz ? c : 1 - c) * lattice(x + dx, y + dy, z + dz, seed);
    }
    return r;
}
DEV float fbm(V p, unsigned seed, int octaves) {
    float s = 0, w = 0.5f, t = 0;
    for (int i = 0; i < octaves; i++) { s += w * noise(p, seed + 101u * i); t += w; w *= 0.55f; p = mul(p, 2.07f); }
    return s / t;
}

/* Nearest hit of one primitive; t only. Cylinder: a, unit axis, length, radius, flat ends. Box: centre, halves, two axes. */
DEV float hit_prim(const float *p, V o, V d) {
    if (p[0] == 0.0f) {
        V a = at(p + 4), u = at(p + 7);
        float L = p[10], r = p[11];
        V oc = sub(o, a);
        float du = dot(d, u), ou = dot(oc, u);
        V dp = sub(d, mul(u, du)), op = sub(oc, mul(u, ou));
        float k = dot(dp, dp);
        if (k > 1e-9f) {
            float t0 = -dot(op, dp) / k;
            V w = add(op, mul(dp, t0));
            float q = r * r - dot(w, w);
            if (q < 0) return FAR;
            float t = t0 - sqrtf(q / k);
            float y = ou + t * du;
            if (t > 1e-3f && y >= 0 && y <= L) return t;
        }
        if (fabsf(du) > 1e-6f) {
            float t = ((du > 0 ? 0.0f : L) - ou) / du;
            V e = add(op, mul(dp, t));
            if (t > 1e-3f && dot(e, e) < r * r) return t;
        }
        return FAR;
    }
    V c = at(p + 4), h = at(p + 7), ux = at(p + 12), uy = at(p + 15), uz = cross(ux, uy);
    V oc = sub(o, c);
    float lo = -FAR, hi = FAR;
    float od[3] = {dot(oc, ux), dot(oc, uy), dot(oc, uz)}, dd[3] = {dot(d, ux), dot(d, uy), dot(d, uz)}, hh[3] = {h.x, h.y, h.z};
    for (int i = 0; i < 3; i++) {
        if (fabsf(dd[i]) < 1e-8f) { if (fabsf(od[i]) > hh[i]) return FAR; continue; }
        float t1 = (-hh[i] - od[i]) / dd[i], t2 = (hh[i] - od[i]) / dd[i];
        if (t1 > t2) { float q = t1; t1 = t2; t2 = q; }
        if (t1 > lo) lo = t1;
        if (t2 < hi) hi = t2;
    }
    return (lo <= hi && lo > 1e-3f) ? lo : FAR;
}

DEV V normal_of(const float *p, V x) {
    if (p[0] == 0.0f) {
        V a = at(p + 4), u = at(p + 7), e = sub(x, a);
        float y = dot(e, u);
        if (y < 0.02f) return mul(u, -1);
        if (y > p[10] - 0.02f) return u;
        return norm(sub(e, mul(u, y)));
    }
    V c = at(p + 4), ux = at(p + 12), uy = at(p + 15), uz = cross(ux, uy), e = sub(x, c);
    float q[3] = {dot(e, ux) / p[7], dot(e, uy) / p[8], dot(e, uz) / p[9]};
    int k = 0;
    for (int i = 1; i < 3; i++) if (fabsf(q[i]) > fabsf(q[k])) k = i;
    V n = k == 0 ? ux : (k == 1 ? uy : uz);
    return q[k] > 0 ? n : mul(n, -1);
}

/* Closest primitive along a ray, or -1 for the deck, -2 for nothing. */
DEV int closest(const float *prims, int n, V o, V d, float *t_out) {
    float best = FAR;
    int which = -2;
    if (d.z < -1e-6f) { best = -o.z / d.z; which = -1; }
    for (int i = 0; i < n; i++) {
        const float *p = prims + i * STRIDE;
        if (p[3] == 0.0f) continue;
        float t = hit_prim(p, o, d);
        if (t < best) { best = t; which = i; }
    }
    *t_out = best;
    return which;
}
DEV int blocked(const float *prims, int n, V o, V d, float far) {
    for (int i = 0; i < n; i++) if (hit_prim(prims + i * STRIDE, o, d) < far) return 1;
    return 0;
}

/* View: [0..2] centre, [3..11] camera axes as rows (right, down, forward), [12] focal px, [13] cx, [14] cy, [15] k1, [16] k2. */
DEV V ray_of(const float *cam, float px, float py) {
    float x = (px - cam[13]) / cam[12], y = (py - cam[14]) / cam[12], rd = sqrtf(x * x + y * y), ru = rd;
    for (int i = 0; i < 6; i++) {
        float r2 = ru * ru;
        ru -= (ru * (1 + cam[15] * r2 + cam[16] * r2 * r2) - rd) / (1 + 3 * cam[15] * r2 + 5 * cam[16] * r2 * r2);
    }
    float s = rd > 1e-9f ? ru / rd : 1.0f;
    return norm(add(add(mul(at(cam + 3), x * s), mul(at(cam + 6), y * s)), at(cam + 9)));
}
DEV void project(const float *cam, V x, float *px, float *py) {
    V e = sub(x, at(cam));
    float z = dot(e, at(cam + 9)), a = dot(e, at(cam + 3)) / z, b = dot(e, at(cam + 6)) / z, r2 = a * a + b * b;
    float s = 1 + cam[15] * r2 + cam[16] * r2 * r2;
    *px = a * s * cam[12] + cam[13];
    *py = b * s * cam[12] + cam[14];
}

/* Light: [0..2] towards the sun, [3..5] sun colour, [6..8] sky colour, [9..11] lamp colour at 1 m, [12] sun disc radius,
   [13] share of light that comes back from below. */
/* Deck: [0] kind, [1..3] colour, [4..6] dust colour, [7] dust, [8] stain, [9] gloss, [10] panel x, [11] panel y, [12] seam width,
   [13] turn, [14] seed, [15] grain, [16] puddle level (above 1: none), [17] rust, [18] splashes. */
DEV float puddle(const float *deck, V x) {
    return deck[16] >= 1 ? 0.0f : step01(deck[16], deck[16] + 0.02f, fbm(v(x.x / 260, x.y / 260, 7.5f), (unsigned)deck[14] + 77u, 3));
}
DEV V deck_colour(const float *deck, V x, float *gloss) {
    unsigned seed = (unsigned)deck[14];
    float c = cosf(deck[13]), s = sinf(deck[13]);
    float a = x.x * c + x.y * s, b = -x.x * s + x.y * c;
    int pa = (int)floorf(a / deck[10] + 0.37f), pb = (int)floorf(b / deck[11] + 0.61f);
    float tone = 0.86f + 0.28f * lattice(pa, pb, 3, seed);
    V base = mul(at(deck + 1), tone);
    if (deck[0] == 0.0f) {
        float grain = fbm(v(a / 90, b / 4.5f, 0), seed + 5u + (unsigned)(pa * 7 + pb * 13), 4);
        base = mul(base, 1 + deck[15] * (grain - 0.5f));
    } else if (deck[0] == 2.0f) {
        float rust = step01(0.62f - 0.3f * deck[17], 0.78f - 0.25f * deck[17], fbm(v(a / 130, b / 130, 1), seed + 9u, 5));
        base = mix(base, v(0.30f, 0.15f, 0.08f), 0.75f * rust);
        base = mul(base, 1 + 0.25f * deck[15] * (fbm(v(a / 60, b / 5, 2), seed + 4u, 3) - 0.5f));
    } else {
        base = mul(base, 1 + 0.5f * deck[15] * (fbm(v(a / 35, b / 35, 1), seed + 6u, 4) - 0.5f));
    }
    float big = fbm(v(a / 420, b / 420, 4), seed + 21u, 4), small = fbm(v(a / 22, b / 22, 5), seed + 31u, 3);
    base = mix(base, at(deck + 4), 0.8f * deck[7] * step01(0.42f, 0.72f, 0.7f * big + 0.3f * small));
    base = mix(base, mul(at(deck + 4), 1.25f), deck[7] * step01(0.66f, 0.74f, fbm(v(a / 70, b / 70, 9), seed + 41u, 5)));
    base = mul(base, 1 - deck[8] * step01(0.55f, 0.66f, fbm(v(a / 180, b / 180, 6), seed + 51u, 4)));
    /* splashes of mortar and paint: fine flecks, many together */
    float where = step01(0.50f, 0.62f, fbm(v(a / 150, b / 150, 11), seed + 61u, 3));
    float flecks = where * step01(0.56f, 0.60f, fbm(v(a / 14, b / 14, 12), seed + 71u, 4));
    base = mix(base, at(deck + 4), deck[18] * flecks);
    base = mix(base, mul(at(deck + 1), 0.5f), deck[18] * step01(0.70f, 0.72f, fbm(v(a / 45, b / 45, 13), seed + 81u, 3)));
    float fa = fabsf(a / deck[10] + 0.37f - floorf(a / deck[10] + 0.37f) - 0.5f) - 0.5f;
    float fb = fabsf(b / deck[11] + 0.61f - floorf(b / deck[11] + 0.61f) - 0.5f) - 0.5f;
    if (-fa * deck[10] < deck[12] || -fb * deck[11] < deck[12]) base = mul(base, 0.35f);
    *gloss = deck[9] * (1 - 0.8f * deck[7] * big);
    float wet = puddle(deck, x);
    if (wet > 0) { base = mul(base, 1 - 0.55f * wet); *gloss = *gloss * (1 - wet) + 0.9f * wet; }
    return base;
}

/* Material: [0..2] colour, [3..5] second colour (rust, dust), [6] share of second, [7] scale of its patches in mm, [8] gloss,
   [9] exponent, [10] kind: 0 plain, 1 ribbed bar, 2 board, 3 ribbed tube, [11] rib pitch, [12] rib height, [13] seed, [14] turns. */
DEV V surface(const float *p, const float *m, V x, V *n, const float *page, int pw, int ph, float *gloss, float *power) {
    unsigned seed = (unsigned)m[13] + (unsigned)p[17 + 1] * 131u;
    V colour = at(m);
    *gloss = m[8];
    *power = m[9];
    if (m[10] == 2.0f) {
        V e = sub(x, at(p + 4));
        float a = dot(e, at(p + 12)) / p[7] * 0.5f + 0.5f, b = dot(e, at(p + 15)) / p[8] * 0.5f + 0.5f;
        if (dot(*n, cross(at(p + 12), at(p + 15))) * p[19] > 0.5f) {
            int i = (int)clampf(a * pw, 0, pw - 1), j = (int)clampf(b * ph, 0, ph - 1);
            float g = page[j * pw + i];
            colour = v(0.03f + 0.82f * g, 0.03f + 0.82f * g, 0.03f + 0.80f * g);
        }
        colour = mix(colour, at(m + 3), m[6] * step01(0.45f, 0.8f, fbm(mul(x, 1 / m[7]), seed, 4)));
        return colour;
    }
    if (m[10] == 1.0f || m[10] == 3.0f) {
        V a = at(p + 4), u = at(p + 7), e = sub(x, a);
        float y = dot(e, u);
        V side = norm(fabsf(u.z) < 0.9f ? cross(u, v(0, 0, 1)) : v(1, 0, 0)), up = cross(side, u);
        float phi = atan2f(dot(*n, up), dot(*n, side));
        float phase = (y + p[20]) / m[11] + (m[14] == 0 ? 0.0f : (phi > 0 ? 1.0f : -1.0f) * phi * m[14] * 0.3183f);
        float w = 2 * 3.14159265f * phase;
        float rib = powf(0.5f + 0.5f * cosf(w), 3.0f), slope = -3 * powf(0.5f + 0.5f * cosf(w), 2.0f) * 0.5f * sinf(w);
        *n = norm(sub(*n, mul(u, m[12] * slope)));
        colour = mul(colour, 1 + 0.25f * (rib - 0.35f));
        float patch = fbm(v(y / m[7] + p[18] * 17.3f, phi * 1.5f, p[18]), seed, 4);
        float share = step01(1 - m[6] - 0.15f, 1 - m[6] + 0.15f, patch * 1.25f - 0.125f);
        colour = mix(colour, at(m + 3), share);
        *gloss *= 1 - 0.8f * share;
        return colour;
    }
    return mix(colour, at(m + 3), m[6] * step01(0.35f, 0.75f, fbm(mul(x, 1 / m[7]), seed, 4)));
}

DEV V shade(const float *prims, int n, const float *mats, const float *light, const float *deck, const float *page, int pw, int ph,
            const float *cam, V o, V d, unsigned *seed) {
    float t;
    int k = closest(prims, n, o, d, &t);
    if (k == -2) return at(light + 6);
    V x = add(o, mul(d, t)), nn = v(0, 0, 1), colour;
    float gloss, power = 30;
    if (k == -1) {
        colour = deck_colour(deck, x, &gloss);
        power = deck[0] == 2.0f ? 60 : 25;
        float w = 0.02f + 0.04f * deck[15];
        nn = norm(v(w * (fbm(v(x.x / 9, x.y / 9, 1), 11u, 2) - 0.5f), w * (fbm(v(x.x / 9, x.y / 9, 2), 12u, 2) - 0.5f), 1));
    } else {
        const float *p = prims + k * STRIDE;
        nn = normal_of(p, x);
        colour = surface(p, mats + (int)p[2] * MAT, x, &nn, page, pw, ph, &gloss, &power);
    }
    if (dot(nn, d) > 0) nn = sub(nn, mul(d, dot(nn, d) * 1.02f));
    V from = add(x, mul(nn, 0.05f)), total = mul(had(colour, at(light + 6)), light[13]);
    /* sun, a point of its disc */
    V sun = norm(add(at(light), mul(v(rnd(seed) - 0.5f, rnd(seed) - 0.5f, rnd(seed) - 0.5f), 2 * light[12])));
    float c = dot(nn, sun);
    if (light[3] > 0 && c > 0 && sun.z > 0 && !blocked(prims, n, from, sun, FAR)) {
        V half = norm(sub(sun, d));
        float s = gloss * (power + 2) / 8 * powf(clampf(dot(nn, half), 0, 1), power);
        total = add(total, had(at(light + 3), mul(add(colour, v(s, s, s)), c)));
    }
    /* sky, one direction weighted with the cosine */
    float a = 6.2831853f * rnd(seed), z = sqrtf(rnd(seed)), q = sqrtf(1 - z * z);
    V tx = norm(fabsf(nn.x) < 0.8f ? cross(nn, v(1, 0, 0)) : cross(nn, v(0, 1, 0))), ty = cross(nn, tx);
    V w = add(add(mul(tx, q * cosf(a)), mul(ty, q * sinf(a))), mul(nn, z));
    if (w.z > 0.02f) {
        if (!blocked(prims, n, from, w, FAR)) total = add(total, had(colour, mul(at(light + 6), 0.75f + 0.5f * w.z)));
        else total = add(total, mul(had(colour, at(light + 6)), 0.06f));
    } else total = add(total, mul(had(colour, at(light + 6)), 0.10f));
    V r = sub(d, mul(nn, 2 * dot(d, nn)));
    float fresnel = 0.04f + 0.96f * powf(1 - clampf(-dot(d, nn), 0, 1), 5.0f);
    if (gloss > 0.02f && r.z > 0.05f && !blocked(prims, n, from, r, FAR))
        total = add(total, mul(at(light + 6), gloss * (0.10f + fresnel)));
    if (light[9] > 0) {
        V e = sub(at(cam), from);
        float far = sqrtf(dot(e, e));
        e = mul(e, 1 / far);
        float cc = dot(nn, e);
        if (cc > 0) {
            float fall = 1e6f / (far * far), s = gloss * (power + 2) / 8 * powf(clampf(dot(nn, norm(sub(e, d))), 0, 1), power);
            total = add(total, had(at(light + 9), mul(add(colour, v(s, s, s)), cc * fall)));
        }
    }
    return total;
}

DEV void pixel(int i, const float *prims, int n, const float *mats, const float *light, const float *deck, const float *page, int pw,
               int ph, const float *cam, int width, int samples, unsigned seed, float *out) {
    int px = i % width, py = i / width;
    unsigned s = hash((unsigned)i * 2654435761U ^ seed);
    V sum = v(0, 0, 0);
    for (int k = 0; k < samples; k++) {
        float jx = ((k % 3) + rnd(&s)) / 3 - 0.5f, jy = (((k / 3) % 3) + rnd(&s)) / 3 - 0.5f;
        V c = shade(prims, n, mats, light, deck, page, pw, ph, cam, at(cam), ray_of(cam, px + jx, py + jy), &s);
        sum = add(sum, v(clampf(c.x, 0, 8), clampf(c.y, 0, 8), clampf(c.z, 0, 8)));
    }
    out[3 * i] = sum.x / samples;
    out[3 * i + 1] = sum.y / samples;
    out[3 * i + 2] = sum.z / samples;
}

/* Labels of one cell of 2 x 2 pixels: the class at 3 x 3 points in it, and the centre-line cue of the bars seen there. */
DEV void cell(int i, const float *prims, int n, const float *deck, const float *cam, int cells_w, unsigned char *classes, float *cue) {
    int cx = i % cells_w, cy = i / cells_w;
    float mx = 2 * cx + 0.5f, my = 2 * cy + 0.5f, best = FAR;
    for (int k = 0; k < 9; k++) {
        V d = ray_of(cam, mx + (k % 3 - 1) * 0.6667f, my + (k / 3 - 1) * 0.6667f);
        float t;
        int hit = closest(prims, n, at(cam), d, &t);
        V x = add(at(cam), mul(d, t));
        unsigned char cls = 0;
        if (hit == -1) cls = puddle(deck, x) > 0.5f ? 10 : 0;
        else if (hit >= 0) {
            const float *p = prims + hit * STRIDE;
            cls = (unsigned char)p[1];
            if (cls >= 1 && cls <= 4) {
                V a = at(p + 4), u = at(p + 7), on = add(a, mul(u, dot(sub(x, a), u)));
                float ax, ay, bx, by;
                project(cam, on, &ax, &ay);
                project(cam, add(on, mul(u, 5)), &bx, &by);
                float ex = bx - ax, ey = by - ay, far = fabsf((mx - ax) * ey - (my - ay) * ex) / sqrtf(ex * ex + ey * ey + 1e-12f);
                if (far < best) best = far;
            }
        }
        classes[9 * i + k] = cls;
    }
    cue[i] = best < FAR ? expf(-0.5f * (best / 1.6f) * (best / 1.6f)) : 0.0f;
}

/* Which block a pixel of a window shows (0: none), and which one it would show if nothing else were there. */
DEV void whose(int j, const float *prims, int n, const float *cam, int side, short *seen, short *alone) {
    V o = at(cam), d = ray_of(cam, j % side, j / side);
    float t, best = FAR;
    int hit = closest(prims, n, o, d, &t);
    *seen = (short)(hit >= 0 ? prims[hit * STRIDE + 21] : 0);
    *alone = 0;
    for (int i = 0; i < n; i++) {
        const float *p = prims + i * STRIDE;
        if (p[21] == 0.0f) continue;
        t = hit_prim(p, o, d);
        if (t < best) { best = t; *alone = (short)p[21]; }
    }
}
/* One pixel of many small windows of one scene: each has its own view, and the primitives that matter to it (first, count). */
DEV void window_pixel(int i, const float *prims, const int *spans, const float *mats, const float *light, const float *deck,
                      const float *page, int pw, int ph, const float *cams, int side, int samples, unsigned seed, float *out,
                      short *seen, short *alone) {
    int w = i / (side * side), j = i % (side * side);
    const float *own = prims + spans[2 * w] * STRIDE, *cam = cams + 20 * w;
    pixel(j, own, spans[2 * w + 1], mats, light, deck, page, pw, ph, cam, side, samples, hash(seed + (unsigned)w), out + 3 * side * side * w);
    whose(j, own, spans[2 * w + 1], cam, side, seen + i, alone + i);
}

#ifdef __CUDACC__
extern "C" __global__ void render_windows(const float *prims, const int *spans, const float *mats, const float *light, const float *deck,
                                          const float *page, int pw, int ph, const float *cams, int side, int count, int samples,
                                          unsigned seed, float *out, short *seen, short *alone) {
    int i = blockIdx.x * blockDim.x + threadIdx.x;
    if (i < count * side * side)
        window_pixel(i, prims, spans, mats, light, deck, page, pw, ph, cams, side, samples, seed, out, seen, alone);
}
extern "C" __global__ void render(const float *prims, int n, const float *mats, const float *light, const float *deck, const float *page,
                                  int pw, int ph, const float *cam, int width, int height, int samples, unsigned seed, float *out) {
    int i = blockIdx.x * blockDim.x + threadIdx.x;
    if (i < width * height) pixel(i, prims, n, mats, light, deck, page, pw, ph, cam, width, samples, seed, out);
}
extern "C" __global__ void label(const float *prims, int n, const float *deck, const float *cam, int w, int h, unsigned char *classes, float *cue) {
    int i = blockIdx.x * blockDim.x + threadIdx.x;
    if (i < w * h) cell(i, prims, n, deck, cam, w, classes, cue);
}
#else
void render_windows(const float *prims, const int *spans, const float *mats, const float *light, const float *deck, const float *page,
                    int pw, int ph, const float *cams, int side, int count, int samples, unsigned seed, float *out, short *seen, short *alone) {
    for (int i = 0; i < count * side * side; i++)
        window_pixel(i, prims, spans, mats, light, deck, page, pw, ph, cams, side, samples, seed, out, seen, alone);
}
void render(const float *prims, int n, const float *mats, const float *light, const float *deck, const float *page, int pw, int ph,
            const float *cam, int width, int height, int samples, unsigned seed, float *out) {
    for (int i = 0; i < width * height; i++) pixel(i, prims, n, mats, light, deck, page, pw, ph, cam, width, samples, seed, out);
}
void label(const float *prims, int n, const float *deck, const float *cam, int w, int h, unsigned char *classes, float *cue) {
    for (int i = 0; i < w * h; i++) cell(i, prims, n, deck, cam, w, classes, cue);
}
#endif
