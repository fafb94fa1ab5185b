#include "cv.h"

#include <atomic>
#include <cstdlib>
#include <cstring>
#include <new>
#include <vector>

#include <sys/mman.h>

#include <opencv2/aruco.hpp>
#include <opencv2/core.hpp>
#include <opencv2/dnn.hpp>
#include <opencv2/imgproc.hpp>

namespace {

// guard runs f and turns whatever OpenCV throws into -1 and a text: a C++
// exception must not cross into Go.
template <typename F>
int guard(char *err, F f) {
    try {
        f();
        return 0;
    } catch (const std::exception &e) {
        std::strncpy(err, e.what(), CV_ERR_LEN - 1);
        err[CV_ERR_LEN - 1] = 0;
    } catch (...) {
        std::strncpy(err, "unknown failure", CV_ERR_LEN);
    }
    return -1;
}

// A view of the caller's pixels; never written through for inputs.
cv::Mat view(const void *p, int width, int height, int type) {
    return cv::Mat(height, width, type, const_cast<void *>(p));
}

cv::Ptr<cv::aruco::Dictionary> dictionary() {
    return cv::aruco::getPredefinedDictionary(cv::aruco::DICT_APRILTAG_36h11);
}

// Puts large matrices into pages of 2 MB where the system has them. A network's
// layers are 36 MB, which in pages of 4 KB are 9000 to be handed out one by one:
// three quarters of the time of its first run.
class LargePages : public cv::MatAllocator {
  public:
    cv::UMatData *allocate(int dims, const int *sizes, int type, void *data, size_t *step,
                           cv::AccessFlag flags, cv::UMatUsageFlags usage) const override {
        size_t size = CV_ELEM_SIZE(type);
        for (int i = dims - 1; i >= 0; i--) size *= size_t(sizes[i]);
        if (data || size < page / 2)
            return next_->allocate(dims, sizes, type, data, step, flags, usage);
        size_t row = CV_ELEM_SIZE(type);
        for (int i = dims - 1; step && i >= 0; i--) {
            step[i] = row;
            row *= size_t(sizes[i]);
        }
        const size_t whole = (size + page - 1) / page * page;
        void *p = std::aligned_alloc(page, whole);
        if (!p) throw std::bad_alloc();
#ifdef MADV_HUGEPAGE
        madvise(p, whole, MADV_HUGEPAGE); // a wish, which may fail
#endif
        auto *u = new cv::UMatData(this);
        u->data = u->origdata = static_cast<uchar *>(p);
        u->size = size;
        u->allocatorFlags_ = mine;
        return u;
    }
    bool allocate(cv::UMatData *u, cv::AccessFlag flags, cv::UMatUsageFlags usage) const override {
        return next_->allocate(u, flags, usage);
    }
    void deallocate(cv::UMatData *u) const override {
        if (!u || u->allocatorFlags_ != mine) return next_->deallocate(u);
        std::free(u->origdata);
        u->origdata = nullptr;
        delete u;
    }

  private:
    static constexpr size_t page = size_t(2) << 20;
    static constexpr int mine = 0x4c50;
    cv::MatAllocator *next_ = cv::Mat::getStdAllocator();
};

cv::MatAllocator *large_pages() {
    static LargePages one;
    return &one;
}

// Counts matrix buffers between allocation and release, for the leak test.
class Counter : public cv::MatAllocator {
  public:
    explicit Counter(cv::MatAllocator *next) : next_(next) {}
    cv::UMatData *allocate(int dims, const int *sizes, int type, void *data, size_t *step,
                           cv::AccessFlag flags, cv::UMatUsageFlags usage) const override {
        cv::UMatData *u = next_->allocate(dims, sizes, type, data, step, flags, usage);
        if (u) {
            u->currAllocator = u->prevAllocator = this;
            ++live_;
        }
        return u;
    }
    bool allocate(cv::UMatData *u, cv::AccessFlag flags, cv::UMatUsageFlags usage) const override {
        return next_->allocate(u, flags, usage);
    }
    void deallocate(cv::UMatData *u) const override {
        if (u) --live_;
        next_->deallocate(u);
    }
    int live() const { return live_; }

  private:
    cv::MatAllocator *next_;
    mutable std::atomic<int> live_{0};
};

Counter *counter = nullptr;

} // namespace

int cv_detect_tags(const uint8_t *gray, int width, int height, int max, int *ids, float *corners,
                   int *count, char *err) {
    return guard(err, [&] {
        std::vector<int> found;
        std::vector<std::vector<cv::Point2f>> quads;
        auto how = cv::aruco::DetectorParameters::create();
        // One threshold, over two or three modules of a small tag, instead of
        // three, and no outline shorter than four sides of 11 pixels: on 130
        // photos, three quarters of them made small, flat and noisy, it misses
        // no tag that the usual settings find, in a quarter of the time.
        how->adaptiveThreshWinSizeMin = how->adaptiveThreshWinSizeMax = 17;
        how->minMarkerPerimeterRate = 4.0 * 11 / std::max(width, height);
        // Only the middle of a module tells its shade: blur of half a module
        // and a corner that is a pixel off spoil the rest. On 119 cards of tilted
        // photos of 3 MP the usual 0.13 missed ten, this one.
        how->perspectiveRemoveIgnoredMarginPerCell = 0.3;
        cv::aruco::detectMarkers(view(gray, width, height, CV_8UC1), dictionary(), quads, found, how);
        *count = 0;
        for (size_t i = 0; i < found.size() && *count < max; i++) {
            ids[*count] = found[i];
            for (int k = 0; k < 4; k++) {
                corners[*count * 8 + 2 * k] = quads[i][k].x;
                corners[*count * 8 + 2 * k + 1] = quads[i][k].y;
            }
            ++*count;
        }
    });
}

int cv_tag_cells(int id, uint8_t cells[64], char *err) {
    return guard(err, [&] {
        cv::Mat out;
        dictionary()->drawMarker(id, 8, out, 1);
        for (int i = 0; i < 64; i++) cells[i] = out.at<uint8_t>(i / 8, i % 8) > 127;
    });
}

int cv_resize_area(const uint8_t *src, int width, int height, int channels, uint8_t *dst,
                   int dst_width, int dst_height, char *err) {
    return guard(err, [&] {
        cv::Mat out = view(dst, dst_width, dst_height, CV_8UC(channels));
        cv::resize(view(src, width, height, CV_8UC(channels)), out, out.size(), 0, 0,
                   cv::INTER_AREA);
    });
}

int cv_bgr_to_gray(const uint8_t *bgr, int width, int height, uint8_t *gray, char *err) {
    return guard(err, [&] {
        cv::Mat out = view(gray, width, height, CV_8UC1);
        cv::cvtColor(view(bgr, width, height, CV_8UC3), out, cv::COLOR_BGR2GRAY);
    });
}

void *cv_net_open(const uint8_t *onnx, int size, char *err) {
    cv::dnn::Net *net = nullptr;
    guard(err, [&] {
        if (!counter) cv::Mat::setDefaultAllocator(large_pages());
        net = new cv::dnn::Net(
            cv::dnn::readNetFromONNX(reinterpret_cast<const char *>(onnx), size_t(size)));
    });
    return net;
}

int cv_net_forward(void *net, const float *in, int channels, int height, int width, float *out,
                   int out_len, char *err) {
    return guard(err, [&] {
        const int sizes[] = {1, channels, height, width};
        auto *n = static_cast<cv::dnn::Net *>(net);
        n->setInput(cv::Mat(4, sizes, CV_32F, const_cast<float *>(in)));
        const cv::Mat y = n->forward();
        if (int(y.total()) != out_len) CV_Error(cv::Error::StsUnmatchedSizes, "output size");
        std::memcpy(out, y.ptr<float>(), sizeof(float) * out_len);
    });
}

void cv_net_close(void *net) { delete static_cast<cv::dnn::Net *>(net); }

void cv_count_mats(void) {
    if (!counter) {
        counter = new Counter(large_pages());
        cv::Mat::setDefaultAllocator(counter);
    }
}

int cv_live_mats(void) { return counter ? counter->live() : 0; }
