// The C face of the few OpenCV calls that are used. Buffers belong to the
// caller; nothing is kept between calls but an open network. Each call returns 0
// on success, else -1 with the reason in err.
#ifndef SECONDCUT_CV_H
#define SECONDCUT_CV_H
#include <stdint.h>
#ifdef __cplusplus
extern "C" {
#endif

enum { CV_ERR_LEN = 256 };

int cv_detect_tags(const uint8_t *gray, int width, int height, int max, int *ids, float *corners,
                   int *count, char *err);
int cv_tag_cells(int id, uint8_t cells[64], char *err);
int cv_resize_area(const uint8_t *src, int width, int height, int channels, uint8_t *dst,
                   int dst_width, int dst_height, char *err);
int cv_bgr_to_gray(const uint8_t *bgr, int width, int height, uint8_t *gray, char *err);

void *cv_net_open(const uint8_t *onnx, int size, char *err);
int cv_net_forward(void *net, const float *in, int channels, int height, int width, float *out,
                   int out_len, char *err);
void cv_net_close(void *net);

void cv_count_mats(void);
int cv_live_mats(void);

#ifdef __cplusplus
}
#endif
#endif
