using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Sends requests as a program outside would: text over HTTP.</summary>
internal sealed class ApiClient(HttpClient http, string address, string? key)
{
    /// <summary>The key it sends; null for none.</summary>
    public string? Key => key;

    /// <summary>Where it sends it.</summary>
    public string Address => address;

    public Task<Reply> GetAsync(string path, params (string Name, string Value)[] headers) =>
        SendAsync("GET", path, null, headers);

    public Task<Reply> PostAsync(string path, string json, params (string Name, string Value)[] headers) =>
        SendAsync("POST", path, json, headers);

    public Task<Reply> PutAsync(string path, string json, params (string Name, string Value)[] headers) =>
        SendAsync("PUT", path, json, headers);

    public Task<Reply> PatchAsync(string path, string json, params (string Name, string Value)[] headers) =>
        SendAsync("PATCH", path, json, headers);

    public Task<Reply> DeleteAsync(string path, params (string Name, string Value)[] headers) =>
        SendAsync("DELETE", path, null, headers);

    /// <summary>Sends a request with a JSON body, or with none.</summary>
    public Task<Reply> SendAsync(string method, string path, string? json,
        params (string Name, string Value)[] headers) =>
        SendContentAsync(method, path, json is null ? null : new StringContent(json, Encoding.UTF8, "application/json"),
            headers);

    /// <summary>Sends a request with any body.</summary>
    public async Task<Reply> SendContentAsync(string method, string path, HttpContent? content,
        params (string Name, string Value)[] headers)
    {
        using var request = new HttpRequestMessage(new HttpMethod(method), address + path) { Content = content };
        if (key is not null)
        {
            request.Headers.Authorization = new AuthenticationHeaderValue("Bearer", key);
        }

        foreach (var (name, value) in headers)
        {
            Assert.True(request.Headers.TryAddWithoutValidation(name, value));
        }

        using var response = await http.SendAsync(request, TestContext.Current.CancellationToken);
        return await Reply.ReadAsync(response);
    }

    /// <summary>Every line of the book that a query finds, page by page.</summary>
    public async Task<List<JsonElement>> LinesAsync(string query = "limit=1000")
    {
        var lines = new List<JsonElement>();
        for (var next = $"/api/lines?{query}"; next is not null;)
        {
            var page = (await GetAsync(next)).MustBe(200).Json;
            lines.AddRange(page.GetProperty("lines").EnumerateArray());
            next = page.TryGetProperty("next", out var more) ? more.GetString() : null;
        }

        return lines;
    }
}
