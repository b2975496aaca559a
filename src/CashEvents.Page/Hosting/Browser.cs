using Microsoft.JSInterop;

namespace CashEvents.Page.Hosting;

/// <summary>What only the browser can do: keep things, tell what happens, and how its language writes.</summary>
public sealed class Browser(IJSObjectReference script)
{
    /// <summary>The browser, with the page's script.</summary>
    public static async Task<Browser> OpenAsync(IJSRuntime runtime) =>
        new(await runtime.InvokeAsync<IJSObjectReference>("import", "./keep.js"));

    /// <summary>All that is kept in a store, in the order of its keys.</summary>
    public ValueTask<string[]> AllAsync(string store) => script.InvokeAsync<string[]>("all", store);

    /// <summary>All that is kept in a store with its keys, from one moment.</summary>
    public ValueTask<KeptEntry[]> EntriesAsync(string store) => script.InvokeAsync<KeptEntry[]>("entries", store);

    /// <summary>What is kept under a key; null for nothing.</summary>
    public ValueTask<string?> FindAsync(string store, string key) =>
        script.InvokeAsync<string?>("find", store, key);

    /// <summary>Changes what is kept, all or nothing; done when it is on the disk.</summary>
    public ValueTask WriteAsync(params IEnumerable<Kept> changes) => script.InvokeVoidAsync("write", changes);

    /// <summary>Has somebody told of new lines, of a neighbour that wrote, and of a server that is silent.</summary>
    public ValueTask ListenAsync<T>(DotNetObjectReference<T> told) where T : class =>
        script.InvokeVoidAsync("listen", told, LineKinds.Names.Values);

    /// <summary>How the reader's language writes.</summary>
    public async Task<Speech> SpeechAsync() => new(await script.InvokeAsync<Language>("language"));

    /// <summary>The code behind the # of the address; empty for none.</summary>
    public ValueTask<string> TakeCodeAsync() => script.InvokeAsync<string>("takeCode");

    /// <summary>Shows the foot of what is long.</summary>
    public ValueTask ShowEndAsync() => script.InvokeVoidAsync("showEnd");

    /// <summary>Loads the newer page, if one is ready.</summary>
    public ValueTask LoadNewerAsync() => script.InvokeVoidAsync("loadNewer");

    /// <summary>Prints what is shown.</summary>
    public ValueTask PrintAsync() => script.InvokeVoidAsync("printOut");

    /// <summary>Puts the focus on what a selector finds first.</summary>
    public ValueTask FocusAsync(string selector) => script.InvokeVoidAsync("focus", selector);
}

/// <summary>Something that is kept.</summary>
/// <param name="Key">Under which name.</param>
/// <param name="Value">What.</param>
public sealed record KeptEntry(string Key, string Value);

/// <summary>A change of what is kept.</summary>
/// <param name="Store">Where.</param>
/// <param name="Key">Under which name; null for all that is in the store, to be emptied.</param>
/// <param name="Value">What; null to take it out.</param>
public sealed record Kept(string Store, string? Key, string? Value);
