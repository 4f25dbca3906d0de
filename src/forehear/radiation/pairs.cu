// Loops of the reference solver on a graphics card: the same sums as in kernels.py, pair by pair, no matrix.
//
// COLUMNS right sides at once (1 to 4), IMAGES of every point (1 to 8). A point is the middle of an edge. Single precision, exp(+jwt),
// G = exp(-jkr)/(4 pi r); what all pairs share (1/(4 pi), areas of the outer points, the coupling) is put on last.

#define THREADS 128
#define OUTER 2   // points a thread sums up
#define BLOCKS (COLUMNS * IMAGES > 4 ? 3 : 4)  // on a multiprocessor at once
#define TILE 64   // points that a block reads together
#define NEAREST 1e-12f  // squared distance [m2] up to where two points are one
#define PER_SPHERE 0.0795774715f
#define PER_TURN 0.159154943f
#define TURN 6.28318531f

struct __align__(COLUMNS % 2 ? 8 : 16) Values { float2 of[COLUMNS]; };

__device__ __forceinline__ float2 times(float2 a, float2 b) {
    return make_float2(a.x * b.x - a.y * b.y, a.x * b.y + a.y * b.x);
}

__device__ __forceinline__ void add_product(float2 &sum, float2 a, float2 b) {
    sum.x = fmaf(a.x, b.x, sum.x); sum.x = fmaf(-a.y, b.y, sum.x);
    sum.y = fmaf(a.x, b.y, sum.y); sum.y = fmaf(a.y, b.x, sum.y);
}

// Green's function times 4 pi, k r and 1/r; turns are counted off before the sine. At one and the same point only
// the finite part is left, which is imaginary.
__device__ __forceinline__ float2 green(float k, float square, float &kr, float &inverse) {
    bool apart = square > NEAREST;
    inverse = apart ? rsqrtf(square) : 0.0f;
    float r = square * inverse;
    kr = k * r;
    float turns = k * PER_TURN * r;
    float angle = TURN * (turns - rintf(turns));
    float sine = __sinf(angle), cosine = __cosf(angle);
    return make_float2(inverse * cosine, fmaf(-inverse, sine, apart ? 0.0f : -k));
}

// Double layer with the normals' part of the hypersingular, over the outer point's area.
__device__ __forceinline__ float2 layer(float2 g, float kr, float inverse, float fall, float both) {
    float slope = fall * inverse * inverse;
    return make_float2(
        fmaf(slope, g.x - kr * g.y, -both * g.y), fmaf(slope, g.y + kr * g.x, both * g.x));
}

// What an image adds to the weights of a point's pressure (0) and of the three parts of its curl (1 to 3).
// An image of the inner point is as far from the outer one as the inner point is from the outer one's image.
__device__ __forceinline__ void add_image(
    const float4 p, const float4 n, const float4 turned_n, const float4 flip, const float4 at, const float4 facing,
    float k, float2 *weight)
{
    float x = fmaf(-flip.x, at.x, p.x), y = fmaf(-flip.y, at.y, p.y), z = fmaf(-flip.z, at.z, p.z), kr, inverse;
    float2 g = green(k, x * x + y * y + z * z, kr, inverse);
    float2 d = layer(g, kr, inverse, x * n.x + y * n.y + z * n.z,
                     facing.x * turned_n.x + facing.y * turned_n.y + facing.z * turned_n.z);
    float turned = flip.w * flip.x * flip.y * flip.z;
    float scale[4] = {flip.w, turned * flip.x, turned * flip.y, turned * flip.z};
#pragma unroll
    for (int a = 0; a < 4; a++) {
        float2 more = a == 0 ? d : g;
        weight[a].x = fmaf(scale[a], more.x, weight[a].x);
        weight[a].y = fmaf(scale[a], more.y, weight[a].y);
    }
}

// What all points send to each outer point, over parts of the points: [part, outer point, 4, column].
// `place` and `normal` are [point] (x, y, z, -) and (vector area, area); `mirror` is [image] (x, y, z, sign), the
// first of them no mirror at all.
extern "C" __global__ void __launch_bounds__(THREADS, BLOCKS) send_pressure(
    const float4 *place, const float4 *normal, const float4 *mirror, const Values *value, float k, float coupling, int points, Values *part)
{
    __shared__ float4 places[TILE], normals[TILE];
    __shared__ Values values[TILE][4];
    const int thread = threadIdx.x;
    float4 at[OUTER], facing[OUTER];
    float2 sum[OUTER][4][COLUMNS];
#pragma unroll
    for (int o = 0; o < OUTER; o++) {
        int i = min((int)(blockIdx.x * OUTER + o) * THREADS + thread, points - 1);
        at[o] = place[i];
        facing[o] = normal[i];
        float scale = coupling * k * k / facing[o].w;
        facing[o].x *= scale; facing[o].y *= scale; facing[o].z *= scale;
#pragma unroll
        for (int a = 0; a < 4; a++)
#pragma unroll
            for (int c = 0; c < COLUMNS; c++) sum[o][a][c] = make_float2(0.0f, 0.0f);
    }
    float4 flip[IMAGES];
#pragma unroll
    for (int m = 0; m < IMAGES; m++) flip[m] = mirror[m];
    for (int first = blockIdx.y * TILE; first < points; first += gridDim.y * TILE) {
        __syncthreads();
        for (int e = thread; e < 2 * TILE; e += THREADS) {
            const int j = first + e % TILE;
            const float4 nothing = make_float4(9.0f, 9.0f, 9.0f, 0.0f);
            if (e < TILE) places[e] = j < points ? place[j] : nothing;
            else normals[e - TILE] = j < points ? normal[j] : nothing;
        }
        for (int entry = thread; entry < 4 * TILE; entry += THREADS) {
            Values v = value[min(4 * first + entry, 4 * points - 1)];
            if (first + entry / 4 >= points)
#pragma unroll
                for (int c = 0; c < COLUMNS; c++) v.of[c] = make_float2(0.0f, 0.0f);
            values[entry / 4][entry % 4] = v;
        }
        __syncthreads();
#pragma unroll 4
        for (int e = 0; e < TILE; e++) {
            const float4 p = places[e], n = normals[e];
            float2 weight[OUTER][4];
#pragma unroll
            for (int o = 0; o < OUTER; o++) {
                float x = p.x - at[o].x, y = p.y - at[o].y, z = p.z - at[o].z, kr, inverse;
                float2 g = green(k, x * x + y * y + z * z, kr, inverse);
                weight[o][0] = layer(g, kr, inverse, x * n.x + y * n.y + z * n.z,
                                     facing[o].x * n.x + facing[o].y * n.y + facing[o].z * n.z);
                weight[o][1] = weight[o][2] = weight[o][3] = g;
            }
#if IMAGES > 1
#pragma unroll
            for (int m = 1; m < IMAGES; m++) {
                const float4 turned_n = make_float4(n.x * flip[m].x, n.y * flip[m].y, n.z * flip[m].z, 0.0f);
#pragma unroll
                for (int o = 0; o < OUTER; o++) add_image(p, n, turned_n, flip[m], at[o], facing[o], k, weight[o]);
            }
#endif
#pragma unroll
            for (int a = 0; a < 4; a++) {
                const Values v = values[e][a];
#pragma unroll
                for (int o = 0; o < OUTER; o++)
#pragma unroll
                    for (int c = 0; c < COLUMNS; c++) add_product(sum[o][a][c], weight[o][a], v.of[c]);
            }
        }
    }
#pragma unroll
    for (int o = 0; o < OUTER; o++) {
        int i = (blockIdx.x * OUTER + o) * THREADS + thread;
        if (i < points)
#pragma unroll
            for (int a = 0; a < 4; a++)
#pragma unroll
                for (int c = 0; c < COLUMNS; c++)
                    part[4 * ((size_t)blockIdx.y * points + i) + a].of[c] = sum[o][a][c];
    }
}

// Sum the parts, always in the same order, and put on what all pairs share, [outer point, 4, column].
extern "C" __global__ void join_parts(const float4 *normal, const Values *part, int parts, float k, float coupling, int points, Values *whole)
{
    int entry = blockIdx.x * blockDim.x + threadIdx.x;
    if (entry >= 4 * points) return;
    float2 scale = entry % 4 == 0 ? make_float2(PER_SPHERE * normal[entry / 4].w, 0.0f)
                                  : make_float2(0.0f, -PER_SPHERE * coupling);
#pragma unroll
    for (int c = 0; c < COLUMNS; c++) {
        float2 sum = make_float2(0.0f, 0.0f);
        for (int p = 0; p < parts; p++) {
            float2 more = part[(size_t)4 * points * p + entry].of[c];
            sum.x += more.x; sum.y += more.y;
        }
        whole[entry].of[c] = times(scale, sum);
    }
}

// What moving points of unit slope send, -(V + beta K'): [outer point, column]; `flow` is area times slope.
extern "C" __global__ void send_slope(
    const float4 *place, const float4 *normal, const float4 *mirror, const float4 *from, const float *flow,
    int moving, float k, float coupling, int points, Values *potential)
{
    int i = blockIdx.x * blockDim.x + threadIdx.x;
    if (i >= points) return;
    const float4 at = place[i], facing = normal[i];
    Values sum;
#pragma unroll
    for (int c = 0; c < COLUMNS; c++) sum.of[c] = make_float2(0.0f, 0.0f);
    for (int image = 0; image < IMAGES; image++) {
        const float4 flip = mirror[image];
        for (int j = 0; j < moving; j++) {
            const float4 p = from[j];
            float x = p.x * flip.x - at.x, y = p.y * flip.y - at.y, z = p.z * flip.z - at.z, kr, inverse;
            float2 g = green(k, x * x + y * y + z * z, kr, inverse);
            float slope = coupling * (x * facing.x + y * facing.y + z * facing.z) * inverse * inverse;
            float2 sent = make_float2(facing.w * g.x + slope * (g.y + kr * g.x),
                                      facing.w * g.y - slope * (g.x - kr * g.y));
#pragma unroll
            for (int c = 0; c < COLUMNS; c++) {
                float strength = -PER_SPHERE * flip.w * flow[j * COLUMNS + c];
                sum.of[c].x = fmaf(strength, sent.x, sum.of[c].x);
                sum.of[c].y = fmaf(strength, sent.y, sum.of[c].y);
            }
        }
    }
    potential[i] = sum;
}

// Add a sparse table times columns: row after row, [row, column].
extern "C" __global__ void add_table(
    const int *first, const int *index, const float2 *entry, const float2 *column, int rows, float2 *into)
{
    int place = blockIdx.x * blockDim.x + threadIdx.x;
    if (place >= rows * COLUMNS) return;
    const int row = place / COLUMNS, c = place % COLUMNS;
    float2 sum = into[place];
    for (int e = first[row]; e < first[row + 1]; e++) add_product(sum, entry[e], column[index[e] * COLUMNS + c]);
    into[place] = sum;
}

// Diagonal of what `send_pressure` does between the nodes; the table is [node, point x 4], the way back from points.
extern "C" __global__ void own_share(
    const float4 *place, const float4 *normal, const float4 *mirror, const int *first, const int *index,
    const float2 *entry, int nodes, float k, float coupling, int points, float2 *diagonal)
{
    int node = blockIdx.x * blockDim.x + threadIdx.x;
    if (node >= nodes) return;
    float2 sum = make_float2(0.0f, 0.0f);
    for (int image = 0; image < IMAGES; image++) {
        const float4 flip = mirror[image];
        const float turned = flip.w * flip.x * flip.y * flip.z;
        for (int outer = first[node]; outer < first[node + 1]; outer++) {
            const int i = index[outer] / 4, a = index[outer] % 4;
            const float4 at = place[i], facing = normal[i];
            for (int inner = first[node]; inner < first[node + 1]; inner++) {
                const int j = index[inner] / 4;
                if (index[inner] % 4 != a) continue;
                const float4 p = place[j];
                float4 n = normal[j];
                n.x *= flip.x; n.y *= flip.y; n.z *= flip.z;
                float x = p.x * flip.x - at.x, y = p.y * flip.y - at.y, z = p.z * flip.z - at.z, kr, inverse;
                float2 g = green(k, x * x + y * y + z * z, kr, inverse), share;
                float weight = PER_SPHERE * entry[outer].x * entry[inner].x;
                if (a == 0) {
                    float both = coupling * k * k / facing.w;
                    both *= facing.x * n.x + facing.y * n.y + facing.z * n.z;
                    share = layer(g, kr, inverse, x * n.x + y * n.y + z * n.z, both);
                    weight *= flip.w * facing.w;
                } else {
                    share = times(make_float2(0.0f, -coupling), g);
                    weight *= turned * (a == 1 ? flip.x : a == 2 ? flip.y : flip.z);
                }
                sum.x += weight * share.x;
                sum.y += weight * share.y;
            }
        }
    }
    diagonal[node] = sum;
}
