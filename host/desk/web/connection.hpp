// One browser's connection: requests one after the other, or, after an upgrade, the live line of a phone. A template
// over plain and TLS streams; only server.cpp includes it (Beast takes half a minute a file).
//
// Everything here is the desk's thread's alone. A connection lives as long as an operation of it is under way; what
// fails ends it and nothing else.
#pragma once

#include <utility>

#include <boost/asio/dispatch.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl.hpp>
#include <boost/beast/websocket.hpp>
#include <boost/beast/websocket/ssl.hpp>

#include <memory>
#include <optional>
#include <string>

#include "desk/live/seen_json.hpp"
#include "desk/web/request_of.hpp"
#include "desk/web/server_state.hpp"

namespace breakstep::desk {

namespace net = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using Plain = beast::tcp_stream;
using Tls = beast::ssl_stream<beast::tcp_stream>;

inline constexpr std::size_t frame_bytes_max = 1024;
inline constexpr auto request_patience = std::chrono::seconds(10), answer_patience = std::chrono::seconds(5);
inline constexpr int requests_max = 1000;

/// What every answer says of itself: nothing of it is kept, framed, guessed at or fetched from elsewhere.
template <class Message>
void add_guards(Message& message, bool may_be_kept) {
    message.set("Content-Security-Policy",
                "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
                "media-src blob:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'");
    message.set("X-Content-Type-Options", "nosniff");
    message.set("Referrer-Policy", "same-origin");
    message.set("Cross-Origin-Opener-Policy", "same-origin");
    message.set("Cross-Origin-Resource-Policy", "same-origin");
    message.set("Permissions-Policy", "camera=(), microphone=(), geolocation=()");
    message.set(http::field::cache_control, may_be_kept ? "no-cache" : "no-store");
}

// ---- the live line --------------------------------------------------------------------------------------------------

template <class Stream>
class LiveLine final : public Watching, public std::enable_shared_from_this<LiveLine<Stream>> {
  public:
    LiveLine(std::shared_ptr<DeskServer::State> server, Slot slot, Stream stream, Desk::Watcher watcher)
        : server_(std::move(server)),
          slot_(std::move(slot)),
          socket_(std::move(stream)),
          watcher_(std::move(watcher)) {}

    template <class Request>
    void open(const Request& request) {
        beast::get_lowest_layer(socket_).expires_never();
        beast::websocket::stream_base::timeout times{};
        times.handshake_timeout = request_patience;
        times.idle_timeout = std::chrono::seconds(30);
        times.keep_alive_pings = true;
        socket_.set_option(times);
        socket_.read_message_max(frame_bytes_max);
        socket_.text(true);
        socket_.async_accept(request, [self = this->shared_from_this()](beast::error_code problem) {
            if (problem) return;
            self->open_ = true;
            self->server_->watch(self);
            self->read();
            self->more();
        });
    }

    void more() override {
        if (!open_ || writing_) return;
        if (!server_->desk->may_watch(watcher_)) return close(beast::websocket::close_code::policy_error);
        if (!pong_.empty()) return write(std::exchange(pong_, {}));
        std::string missed = server_->desk->feed().missed(watcher_.place);
        if (!missed.empty()) write(std::move(missed));
    }
    void end() override { beast::get_lowest_layer(socket_).close(); }

  private:
    void read() {
        socket_.async_read(buffer_, [self = this->shared_from_this()](beast::error_code problem, std::size_t) {
            if (problem) {
                if (problem == beast::websocket::error::message_too_big ||
                    problem == beast::websocket::error::bad_opcode)
                    ++self->server_->counters.frames_refused;
                self->open_ = false;
                return;
            }
            self->take(beast::buffers_to_string(self->buffer_.data()));
        });
    }
    // The line tells; all that is heard on it is a ping. Who says anything else is no page of ours.
    void take(const std::string& frame) {
        buffer_.consume(buffer_.size());
        const auto ping = socket_.got_text() ? ping_in(frame) : std::nullopt;
        if (!ping) {
            ++server_->counters.frames_refused;
            return close(beast::websocket::close_code::policy_error);
        }
        pong_ = pong_json(*ping);
        more();
        read();
    }
    void write(std::string text) {
        writing_ = true;
        out_ = std::move(text);
        socket_.async_write(net::buffer(out_),
                            [self = this->shared_from_this()](beast::error_code problem, std::size_t) {
                                self->writing_ = false;
                                if (problem)
                                    self->open_ = false;
                                else
                                    self->more();
                            });
    }
    void close(beast::websocket::close_code why) {
        if (!std::exchange(open_, false)) return;
        // Who was sent away is waited for, but not long: it may not answer.
        beast::websocket::stream_base::timeout times{};
        socket_.get_option(times);
        times.handshake_timeout = std::chrono::seconds(2);
        socket_.set_option(times);
        socket_.async_close(why, [self = this->shared_from_this()](beast::error_code) {});
    }

    std::shared_ptr<DeskServer::State> server_;
    Slot slot_;
    beast::websocket::stream<Stream, false> socket_;  // nothing is compressed: a rep is a hundred bytes
    Desk::Watcher watcher_;
    beast::flat_buffer buffer_{frame_bytes_max + 64};
    std::string out_, pong_;
    bool open_ = false, writing_ = false;
};

// ---- requests -------------------------------------------------------------------------------------------------------

template <class Stream>
class Connection final : public Watching, public std::enable_shared_from_this<Connection<Stream>> {
  public:
    Connection(std::shared_ptr<DeskServer::State> server, Slot slot, Stream stream, bool from_here)
        : server_(std::move(server)),
          slot_(std::move(slot)),
          stream_(std::move(stream)),
          from_here_(from_here),
          deadline_(stream_.get_executor()) {}

    void begin() {
        beast::get_lowest_layer(stream_).expires_after(request_patience);
        if constexpr (std::is_same_v<Stream, Tls>)
            stream_.async_handshake(net::ssl::stream_base::server,
                                    [self = this->shared_from_this()](beast::error_code problem) {
                                        if (!problem) self->read();
                                    });
        else
            read();
    }
    void more() override {}
    void end() override {
        waiting_ = false;
        deadline_.cancel();
        beast::get_lowest_layer(stream_).close();
    }

  private:
    void read() {
        parser_.emplace();
        parser_->header_limit(header_bytes_max);
        parser_->body_limit(body_bytes_max);
        beast::get_lowest_layer(stream_).expires_after(request_patience);
        http::async_read(
            stream_, buffer_, *parser_,
            [self = this->shared_from_this()](beast::error_code problem, std::size_t) { self->taken(problem); });
    }
    void taken(beast::error_code problem) {
        if (problem == http::error::end_of_stream || problem == beast::error::timeout || problem == net::error::eof)
            return;
        if (problem) {
            ++server_->counters.requests_refused;
            const bool large = problem == http::error::body_limit || problem == http::error::header_limit;
            if (problem.category() == http::make_error_code(http::error::bad_target).category())
                answer({large ? 413 : 400, "text/plain; charset=utf-8",
                        large ? "That is too large.\n" : "That is no request.\n"},
                       false);
            return;
        }
        ++server_->counters.requests;
        const auto& message = parser_->get();
        if (beast::websocket::is_upgrade(message)) return upgrade();
        const bool keep = message.keep_alive() && ++requests_ < requests_max;
        wait_for_answer(keep);
        server_->desk->answer(request(), [self = this->shared_from_this(), server = server_, keep,
                                          number = ++asked_](WebResponse response) {
            // It may come on the engine's thread.
            net::dispatch(self->stream_.get_executor(), [self, keep, number, response = std::move(response)]() mutable {
                if (self->asked_ == number && self->waiting_) self->answer(std::move(response), keep);
            });
        });
    }
    void wait_for_answer(bool keep) {
        waiting_ = true;
        deadline_.expires_after(answer_patience);
        deadline_.async_wait([self = this->shared_from_this(), keep](beast::error_code problem) {
            if (!problem && self->waiting_)
                self->answer({503, "application/json", R"({"words":"the evening does not answer; try again"})"}, keep);
        });
    }
    [[nodiscard]] WebRequest request() const { return request_of(parser_->get(), from_here_); }
    void upgrade() {
        auto watcher = server_->desk->watch(request());
        if (!watcher) return answer(std::move(watcher.error()), false);
        std::make_shared<LiveLine<Stream>>(server_, std::move(slot_), std::move(stream_), std::move(*watcher))
            ->open(parser_->release());
    }
    void answer(WebResponse response, bool keep) {
        waiting_ = false;
        deadline_.cancel();
        response_ = {};
        response_.result(static_cast<unsigned>(response.status));
        response_.version(11);
        response_.set(http::field::content_type, response.type);
        if (!response.location.empty()) response_.set(http::field::location, response.location);
        if (!response.cookie.empty()) response_.set(http::field::set_cookie, response.cookie);
        add_guards(response_, response.may_be_kept);
        response_.keep_alive(keep);
        response_.body() = std::move(response.body);
        response_.prepare_payload();
        beast::get_lowest_layer(stream_).expires_after(request_patience);
        http::async_write(stream_, response_,
                          [self = this->shared_from_this(), keep](beast::error_code problem, std::size_t) {
                              if (problem) return;
                              if (keep)
                                  self->read();
                              else
                                  self->finish();
                          });
    }
    void finish() {
        if constexpr (std::is_same_v<Stream, Tls>) {
            beast::get_lowest_layer(stream_).expires_after(std::chrono::seconds(2));
            stream_.async_shutdown([self = this->shared_from_this()](beast::error_code) {});
        } else {
            beast::error_code ignored;
            stream_.socket().shutdown(net::ip::tcp::socket::shutdown_send, ignored);
        }
    }

    std::shared_ptr<DeskServer::State> server_;
    Slot slot_;
    Stream stream_;
    const bool from_here_;
    net::steady_timer deadline_;
    beast::flat_buffer buffer_{header_bytes_max + body_bytes_max};
    std::optional<http::request_parser<http::string_body>> parser_;
    http::response<http::string_body> response_;
    bool waiting_ = false;
    int requests_ = 0;
    std::uint64_t asked_ = 0;
};

}  // namespace breakstep::desk
