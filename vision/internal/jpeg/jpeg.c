#include "jpeg.h"

#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/mman.h>
#include <turbojpeg.h>

static int finish(tjhandle h, int rc, char *err) {
    if (rc != 0 && err) {
        strncpy(err, h ? tjGetErrorStr2(h) : "no memory", JPEG_ERR_LEN - 1);
        err[JPEG_ERR_LEN - 1] = 0;
    }
    if (h) tjDestroy(h);
    return rc == 0 ? 0 : -1;
}

int jpeg_header(const unsigned char *data, unsigned long size, int *width, int *height, int *cmyk,
                char *err) {
    tjhandle h = tjInitDecompress();
    int subsamp = 0, space = 0;
    int rc = h ? tjDecompressHeader3(h, data, size, width, height, &subsamp, &space) : -1;
    *cmyk = space == TJCS_CMYK || space == TJCS_YCCK;
    return finish(h, rc, err);
}

// The pixels are fresh memory, which the system hands out page by page as it is
// written to: of 12 megapixels, 9000 pages of 4 KB, which takes as long as half
// the decoding. Where there are pages of 2 MB, twenty of them do.
static void in_large_pages(unsigned char *dst, size_t size) {
#ifdef MADV_HUGEPAGE
    const uintptr_t page = 4096;
    uintptr_t first = ((uintptr_t)dst + page - 1) / page * page;
    uintptr_t last = ((uintptr_t)dst + size) / page * page;
    if (first < last) madvise((void *)first, last - first, MADV_HUGEPAGE); // a wish, which may fail
#else
    (void)dst, (void)size;
#endif
}

int jpeg_decode(const unsigned char *data, unsigned long size, unsigned char *dst, int width,
                int height, int cmyk, char *err) {
    tjhandle h = tjInitDecompress();
    in_large_pages(dst, (size_t)width * height * (cmyk ? 4 : 3));
    // A limit on scans keeps a hostile progressive file from taking minutes.
    int rc = h ? tjDecompress2(h, data, size, dst, width, 0, height, cmyk ? TJPF_CMYK : TJPF_BGR,
                               TJFLAG_LIMITSCANS)
               : -1;
    return finish(h, rc, err);
}

int jpeg_encode(const unsigned char *bgr, int width, int height, int quality, unsigned char **out,
                unsigned long *out_size, char *err) {
    tjhandle h = tjInitCompress();
    *out = NULL;
    *out_size = 0;
    int rc = h ? tjCompress2(h, bgr, width, 0, height, TJPF_BGR, out, out_size,
                             quality >= 90 ? TJSAMP_444 : TJSAMP_420, quality, 0)
               : -1;
    return finish(h, rc, err);
}

void jpeg_free(unsigned char *p) { tjFree(p); }
