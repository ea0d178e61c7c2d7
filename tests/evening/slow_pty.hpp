// A pseudo-terminal behind which another one answers as behind an adapter with a latency timer of 16 ms: what comes
// from the rig is handed on when 16 ms have passed or 62 bytes are together; what goes to it, at once. A thread of its
// own.
#pragma once

#include <atomic>
#include <string>
#include <thread>

namespace breakstep::tests {

class SlowPty {
  public:
    explicit SlowPty(const std::string& rig);
    ~SlowPty();
    SlowPty(const SlowPty&) = delete;
    SlowPty& operator=(const SlowPty&) = delete;
    [[nodiscard]] const std::string& path() const { return path_; }

  private:
    void run() const;
    int rig_ = -1, near_ = -1, far_ = -1;
    std::string path_;
    std::atomic<bool> stop_{false};
    std::thread thread_;
};

}  // namespace breakstep::tests
