// Read before better-sqlite3's own sources when it is compiled. Since 24.19 node::ObjectWrap registers a cleanup hook,
// and removing it aborts the process whenever an object is collected while no context is entered (nodejs/node #65446).
// Without the hook it is what it was on Node 20 and 22.
#include <node.h>
#define AddEnvironmentCleanupHook(...) static_cast<void>(0)
#define RemoveEnvironmentCleanupHook(...) static_cast<void>(0)
#include <node_object_wrap.h>
#undef AddEnvironmentCleanupHook
#undef RemoveEnvironmentCleanupHook
