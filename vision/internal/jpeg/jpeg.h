// The C face of the few libjpeg-turbo calls that are used. Returns 0 on success,
// else -1 with the library's reason in err (a warning counts: the file is
// damaged).
#ifndef SECONDCUT_JPEG_H
#define SECONDCUT_JPEG_H

enum { JPEG_ERR_LEN = 256 };

int jpeg_header(const unsigned char *data, unsigned long size, int *width, int *height, int *cmyk,
                char *err);
int jpeg_decode(const unsigned char *data, unsigned long size, unsigned char *dst, int width,
                int height, int cmyk, char *err);
int jpeg_encode(const unsigned char *bgr, int width, int height, int quality, unsigned char **out,
                unsigned long *out_size, char *err);
void jpeg_free(unsigned char *p);

#endif
